//! One straight beam: stiffness, mass and uniform load over the twelve movements of its two ends.
//!
//! Order: ux, uy, uz, rx, ry, rz of end i, then of end j, in the beam's own axes: x from i to j, y the part of
//! `strong` normal to x, z = x × y. Movement along y bends it the strong way. Formulas: Przemieniecki, Theory of
//! Matrix Structural Analysis, 1968, eqs 5.116 (stiffness with shear) and 11.22 (consistent mass without it); from memory.

use nalgebra::{Matrix3, SMatrix, SVector};

use crate::geometry::{Vec3, unit_or};

/// Twelve movements or forces: end i, then end j.
pub type Vec12 = SVector<f64, 12>;
/// A matrix over them.
pub type Mat12 = SMatrix<f64, 12, 12>;

/// What a beam is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Young's modulus, Pa.
    pub e: f64,
    /// Shear modulus, Pa.
    pub g: f64,
    /// Density, kg/m³.
    pub density: f64,
    /// Proof stress Rp0.2, Pa.
    pub yields: f64,
}

impl Material {
    /// EN AW-6060 T66 as rails are made of it: E between 69e9 (a published data sheet) and 70e9 Pa (EN 1999-1-1, from
    /// memory), G likewise; density 2700 kg/m³ (data sheets of 6060 and 6063); proof stress 150e6 Pa, the lower wall class
    /// of EN 755-2.
    pub const ALUMINIUM: Self = Self { e: 69.5e9, g: 26.1e9, density: 2700.0, yields: 150e6 };
}

/// A beam's section, m², m⁴.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Area.
    pub area: f64,
    /// Second moment against bending along the beam's y.
    pub i_strong: f64,
    /// Second moment against bending along its z.
    pub i_weak: f64,
    /// Torsion constant.
    pub j: f64,
    /// Shear areas for forces along y and along z; without them the beam does not give in shear.
    pub shear: Option<[f64; 2]>,
}

/// A beam's axes as rows: the beam's own components of a vector are this times its components in W.
///
/// Where `strong` lies along the beam or is nothing, any direction across it is taken.
pub fn axes(from: Vec3, to: Vec3, strong: Vec3) -> Matrix3<f64> {
    let x = unit_or(to - from, Vec3::x());
    let least = if x.x.abs() < 0.6 { Vec3::x() } else { Vec3::y() };
    let other = unit_or(least - x * x.dot(&least), Vec3::z());
    let y = unit_or(strong - x * x.dot(&strong), other);
    let z = x.cross(&y);
    Matrix3::from_rows(&[x.transpose(), y.transpose(), z.transpose()])
}

/// The stiffness of a beam of length `l`, N/m, N, N·m.
pub fn stiffness(section: &Section, material: &Material, l: f64) -> Mat12 {
    let mut k = Mat12::zeros();
    let mut pair = |i: usize, j: usize, value: f64| {
        k[(i, j)] = value;
        k[(j, i)] = value;
    };
    for (dof, value) in [(0, material.e * section.area / l), (3, material.g * section.j / l)] {
        pair(dof, dof, value);
        pair(dof + 6, dof + 6, value);
        pair(dof, dof + 6, -value);
    }
    // Bending along y turns about +z, along z about −y.
    let shear = section.shear.map(|areas| areas.map(Some)).unwrap_or_default();
    for (u, r, sign, i, area) in [(1, 5, 1.0, section.i_strong, shear[0]), (2, 4, -1.0, section.i_weak, shear[1])] {
        let ei = material.e * i;
        let phi = area.map_or(0.0, |area| 12.0 * ei / (material.g * area * l * l));
        let c = ei / (l * l * l * (1.0 + phi));
        let (u2, r2) = (u + 6, r + 6);
        pair(u, u, 12.0 * c);
        pair(u2, u2, 12.0 * c);
        pair(u, u2, -12.0 * c);
        for (a, b, s) in [(u, r, 1.0), (u, r2, 1.0), (u2, r, -1.0), (u2, r2, -1.0)] {
            pair(a, b, s * sign * 6.0 * l * c);
        }
        pair(r, r, (4.0 + phi) * l * l * c);
        pair(r2, r2, (4.0 + phi) * l * l * c);
        pair(r, r2, (2.0 - phi) * l * l * c);
    }
    k
}

/// The consistent mass of a beam of length `l`, kg, kg·m, kg·m².
pub fn mass(section: &Section, material: &Material, l: f64) -> Mat12 {
    let mut m = Mat12::zeros();
    let mut pair = |i: usize, j: usize, value: f64| {
        m[(i, j)] = value;
        m[(j, i)] = value;
    };
    let whole = material.density * section.area * l;
    let polar = material.density * (section.i_strong + section.i_weak) * l;
    for (dof, value) in [(0, whole), (3, polar)] {
        pair(dof, dof, value / 3.0);
        pair(dof + 6, dof + 6, value / 3.0);
        pair(dof, dof + 6, value / 6.0);
    }
    let c = whole / 420.0;
    for (u, r, sign) in [(1, 5, 1.0), (2, 4, -1.0)] {
        let (u2, r2) = (u + 6, r + 6);
        pair(u, u, 156.0 * c);
        pair(u2, u2, 156.0 * c);
        pair(u, u2, 54.0 * c);
        pair(u, r, sign * 22.0 * l * c);
        pair(u2, r2, -sign * 22.0 * l * c);
        pair(u, r2, -sign * 13.0 * l * c);
        pair(u2, r, sign * 13.0 * l * c);
        pair(r, r, 4.0 * l * l * c);
        pair(r2, r2, 4.0 * l * l * c);
        pair(r, r2, -3.0 * l * l * c);
    }
    m
}

/// The forces that do to the ends what a uniform load `w`, N/m in the beam's axes, does to a beam of length `l`.
pub fn uniform(w: Vec3, l: f64) -> Vec12 {
    let half = w * (l / 2.0);
    let turn = l * l / 12.0;
    Vec12::from_column_slice(&[
        half.x,
        half.y,
        half.z,
        0.0,
        -w.z * turn,
        w.y * turn,
        half.x,
        half.y,
        half.z,
        0.0,
        w.z * turn,
        -w.y * turn,
    ])
}

/// `matrix` in the beam's axes, seen in W.
pub fn in_world(matrix: &Mat12, axes: &Matrix3<f64>) -> Mat12 {
    let mut turn = Mat12::zeros();
    for block in 0..4 {
        turn.fixed_view_mut::<3, 3>(3 * block, 3 * block).copy_from(axes);
    }
    turn.transpose() * matrix * turn
}

/// Four triples turned from W into the beam's axes.
pub fn to_beam(v: &Vec12, axes: &Matrix3<f64>) -> Vec12 {
    let mut out = Vec12::zeros();
    for block in 0..4 {
        out.fixed_rows_mut::<3>(3 * block).copy_from(&(axes * v.fixed_rows::<3>(3 * block)));
    }
    out
}

/// Four triples turned from the beam's axes into W.
pub fn from_beam(v: &Vec12, axes: &Matrix3<f64>) -> Vec12 {
    to_beam(v, &axes.transpose())
}
