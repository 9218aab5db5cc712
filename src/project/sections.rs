//! Standard sections of slotted profile rail (`shared/rail_sections.csv`) and the joints between rails
//! (`shared/rail_joints.csv`).

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::{JointKind, Rail};

/// A rail's section, mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RailSection {
    /// Its name in project files and lists: `40x80-light`.
    pub name: String,
    /// The smaller side.
    pub across_mm: f64,
    /// The larger side.
    pub upright_mm: f64,
    /// The series: distance between two slots of a side.
    pub pitch_mm: f64,
    /// Width of the slot's mouth, as it is called.
    pub slot_mm: f64,
    /// Thickness of the lip beside the mouth.
    pub lip_mm: f64,
    /// The bolt that its nuts take.
    pub bolt: String,
    /// Area, mm².
    pub area_mm2: f64,
    /// Second moment of area the strong way (bent in the plane of the larger side), mm⁴.
    pub i_strong_mm4: f64,
    /// The weak way, mm⁴.
    pub i_weak_mm4: f64,
    /// Torsion constant, mm⁴.
    pub j_mm4: f64,
    /// Shear area for forces along the larger side, mm².
    pub shear_strong_mm2: f64,
    /// Shear area for forces along the smaller side, mm².
    pub shear_weak_mm2: f64,
    /// Section modulus the strong way, mm³.
    pub w_strong_mm3: f64,
    /// Section modulus the weak way, mm³.
    pub w_weak_mm3: f64,
    /// Mass, kg/m.
    pub kg_per_m: f64,
    /// True for the section that is taken where a project names only its size.
    pub usual: bool,
    /// How sure: `computed` for the idealised section itself, `scaled` from it, `estimated` for a size that the table
    /// doesn't have.
    pub sure: String,
    /// Where the figures come from.
    pub source: String,
}

impl RailSection {
    /// The section of a rail: the one that it names, else the usual one of its size, else one scaled from the row whose
    /// sides are most alike: areas with the product of the sides, moments of area with width times height cubed.
    ///
    /// # Panics
    /// Never: the compiled-in table has rows, as its tests see to.
    pub fn of(rail: &Rail) -> Self {
        let [small, large] = sorted(rail.section_mm);
        let of_size = |row: &&Self| (row.across_mm - small).abs() < 0.6 && (row.upright_mm - large).abs() < 0.6;
        let named = rail.section.as_ref().and_then(|name| sections().iter().find(|row| row.name == *name));
        if let Some(row) = named.or_else(|| sections().iter().find(|row| of_size(row) && row.usual)) {
            return row.clone();
        }
        let off = |row: &Self| (row.across_mm / small).ln().abs() + (row.upright_mm / large).ln().abs();
        let like = sections().iter().filter(|row| row.usual).min_by(|a, b| off(a).total_cmp(&off(b)));
        let like = like.expect("the compiled-in table has rows");
        let (b, h) = (small / like.across_mm, large / like.upright_mm);
        Self {
            name: format!("{small}x{large}"),
            across_mm: small,
            upright_mm: large,
            area_mm2: like.area_mm2 * b * h,
            i_strong_mm4: like.i_strong_mm4 * b * h.powi(3),
            i_weak_mm4: like.i_weak_mm4 * h * b.powi(3),
            j_mm4: like.j_mm4 * (b * h).powi(2),
            shear_strong_mm2: like.shear_strong_mm2 * b * h,
            shear_weak_mm2: like.shear_weak_mm2 * b * h,
            w_strong_mm3: like.w_strong_mm3 * b * h.powi(2),
            w_weak_mm3: like.w_weak_mm3 * h * b.powi(2),
            kg_per_m: like.kg_per_m * b * h,
            sure: "estimated".to_owned(),
            source: format!("No row of the table has this size: scaled from {}", like.name),
            ..like.clone()
        }
    }

    /// Two sides that a rail of this section may have, smaller first.
    pub const fn size_mm(&self) -> [f64; 2] {
        [self.across_mm, self.upright_mm]
    }
}

fn sorted([a, b]: [f64; 2]) -> [f64; 2] {
    [a.min(b), a.max(b)]
}

/// Every standard section, smallest series first.
///
/// # Panics
/// Never: the compiled-in table is read by its tests.
pub fn sections() -> &'static [RailSection] {
    static ROWS: OnceLock<Vec<RailSection>> = OnceLock::new();
    ROWS.get_or_init(|| {
        csv::Reader::from_reader(include_str!("../../shared/rail_sections.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("shared/rail_sections.csv is part of the program and is read by its tests")
    })
}

/// What a kind of joint is worth on a 40 mm rail, and what it is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JointRow {
    /// The kind.
    pub kind: JointKind,
    /// Stiffness against turning of the joint as it is usually made, N·m/rad, for a contact 40 mm wide.
    pub turn_nm_per_rad: f64,
    /// Stiffness against sliding apart, N/m.
    pub push_n_per_m: f64,
    /// Connectors that one joint usually has: brackets, screws, plates.
    pub pieces: u32,
    /// Bolts of one connector that clamp a slot.
    pub bolts: u32,
    /// Slot nuts of one connector.
    pub nuts: u32,
    /// Bolts of one connector that carry along each of the two rails.
    pub holding_bolts: u32,
    /// What a connector is called in a parts list.
    pub part: String,
    /// Where the figures come from.
    pub source: String,
}

/// The row of a kind of joint.
///
/// # Panics
/// If a kind is not in `shared/rail_joints.csv`: a slip of ours, caught by the tests.
pub fn joint_row(kind: JointKind) -> &'static JointRow {
    static ROWS: OnceLock<Vec<JointRow>> = OnceLock::new();
    let rows = ROWS.get_or_init(|| {
        csv::Reader::from_reader(include_str!("../../shared/rail_joints.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("shared/rail_joints.csv is part of the program and is read by its tests")
    });
    rows.iter().find(|row| row.kind == kind).expect("every kind of joint has its row")
}

#[cfg(test)]
mod tests {
    use super::*;

    type Range = [f64; 2];

    /// Ranges met across makers (common practice, no published source): area cm², I strong cm⁴, I weak cm⁴, kg/m of the
    /// light to heavy grades.
    const MET: [(&str, Range, Range, Range); 9] = [
        ("40x40-light", [5.5, 7.5], [8.0, 11.0], [1.5, 2.0]),
        ("40x40-heavy", [8.5, 11.0], [12.5, 17.0], [2.3, 3.0]),
        ("40x80-light", [9.5, 13.0], [60.0, 80.0], [2.6, 3.5]),
        ("40x80-heavy", [14.0, 19.0], [90.0, 115.0], [3.8, 5.1]),
        ("40x120-light", [14.0, 27.0], [200.0, 350.0], [3.8, 7.3]),
        ("40x160-heavy", [18.0, 36.0], [450.0, 780.0], [4.9, 9.7]),
        ("45x45-light", [6.5, 11.0], [11.0, 20.0], [1.8, 3.0]),
        ("20x20-light", [1.6, 2.2], [0.6, 0.9], [0.45, 0.6]),
        ("30x30-light", [3.0, 5.5], [2.7, 5.0], [0.8, 1.5]),
    ];

    #[test]
    fn sections_lie_in_the_ranges_met_across_makers() {
        for (name, area, strong, mass) in MET {
            let row = sections().iter().find(|row| row.name == name).unwrap();
            let inside = |value: f64, range: Range| (range[0]..=range[1]).contains(&value);
            assert!(inside(row.area_mm2 / 1e2, area), "{name}: area");
            assert!(inside(row.i_strong_mm4 / 1e4, strong), "{name}: I");
            assert!(inside(row.kg_per_m, mass), "{name}: kg/m");
        }
    }

    #[test]
    fn every_row_agrees_with_itself() {
        for row in sections() {
            // 2700 kg/m³ (data sheets of 6060 and 6063); W = I / half the side.
            assert!((row.kg_per_m - row.area_mm2 * 2.7e-3).abs() < 1e-3, "{}", row.name);
            assert!((row.w_strong_mm3 - row.i_strong_mm4 / (row.upright_mm / 2.0)).abs() < 1.0, "{}", row.name);
            assert!((row.w_weak_mm3 - row.i_weak_mm4 / (row.across_mm / 2.0)).abs() < 1.0, "{}", row.name);
            assert!(row.j_mm4 < row.i_strong_mm4 + row.i_weak_mm4, "{}: J is below the polar moment", row.name);
            assert!(row.source.len() > 20 && ["computed", "scaled"].contains(&row.sure.as_str()), "{}", row.name);
        }
    }

    #[test]
    fn a_rail_gets_its_named_section_the_usual_one_of_its_size_or_a_scaled_one() {
        let rail = |size: [f64; 2], section: Option<&str>| Rail {
            section: section.map(str::to_owned),
            ..Rail::between("rail", size, [0.0; 3], [1000.0, 0.0, 0.0])
        };
        assert_eq!(RailSection::of(&rail([40.0, 80.0], None)).name, "40x80-light");
        assert_eq!(RailSection::of(&rail([80.0, 40.0], Some("40x80-heavy"))).name, "40x80-heavy");
        // Half the size of 40×40: a quarter of the area, a sixteenth of the moment; its own row says the same.
        let odd = RailSection::of(&rail([21.0, 21.0], None));
        let ratio = 21.0_f64 / 20.0;
        assert_eq!(odd.sure, "estimated");
        assert!((odd.area_mm2 - 171.46 * ratio.powi(2)).abs() < 0.01);
        assert!((odd.i_strong_mm4 - 6238.0 * ratio.powi(4)).abs() < 1.0);
    }

    #[test]
    fn every_kind_of_joint_has_its_row() {
        for kind in JointKind::ALL {
            let row = joint_row(kind);
            assert!(row.turn_nm_per_rad > 0.0 && row.push_n_per_m > 0.0 && row.source.len() > 20);
        }
    }
}
