//! The frame solver against other solvers' results, closed forms and the laws that any linear frame keeps.

use std::collections::BTreeMap;

use heelpoint::{
    frame::{
        Joint, Loads, Member, Model, Node, Response, Stiff,
        beam::{Material, Section},
    },
    geometry::Vec3,
};
use nalgebra::{Matrix3, Rotation3};
use serde_json::Value;

/// Nine closed forms and four space frames, solved by `PyNiteFEA` 3.2.0 and by a separate direct-stiffness script; their
/// axes and signs stand in the file's `meta`.
const CASES: &str = include_str!("../../shared/checks/frame_cases.json");

/// One case as a model, with the names of its nodes and members.
struct Case {
    model: Model,
    loads: Loads,
    nodes: BTreeMap<String, usize>,
    members: BTreeMap<String, usize>,
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn vector(value: &Value) -> Vec3 {
    Vec3::from_column_slice(&numbers(value))
}

fn table(value: &Value) -> &serde_json::Map<String, Value> {
    value.as_object().expect("a table")
}

impl Case {
    fn of(case: &Value) -> Self {
        let mut model = Model::default();
        let (mut nodes, mut members) = (BTreeMap::new(), BTreeMap::new());
        for (name, at) in table(&case["nodes_m"]) {
            nodes.insert(name.clone(), model.nodes.len());
            let mut node = Node::free(vector(at));
            if let Some(held) = case["supports"].get(name) {
                for (direction, held) in numbers(held).into_iter().enumerate() {
                    node.held[direction] = held > 0.0;
                }
            }
            model.nodes.push(node);
        }
        for (name, member) in table(&case["members"]) {
            let word = |key: &str| member[key].as_str().expect("a name").to_owned();
            let (section, material) = (&case["sections"][word("section")], &case["materials"][word("material")]);
            let part = |of: &Value, key: &str| of[key].as_f64().expect("a number");
            members.insert(name.clone(), model.members.len());
            model.members.push(Member {
                ends: [nodes[&word("i")], nodes[&word("j")]],
                section: Section {
                    area: part(section, "A_m2"),
                    i_strong: part(section, "I_strong_m4"),
                    i_weak: part(section, "I_weak_m4"),
                    j: part(section, "J_m4"),
                    shear: None,
                },
                material: Material {
                    e: part(material, "E_pa"),
                    g: part(material, "G_pa"),
                    density: part(material, "rho_kg_m3"),
                    yields: 150e6,
                },
                strong: vector(&member["strong_dir"]),
            });
        }
        let named = |load: &Value, key: &str| load[key].as_str().expect("a name").to_owned();
        let list = |key: &str| case[key].as_array().expect("a list").clone();
        let loads = Loads {
            nodes: list("node_loads")
                .iter()
                .map(|load| (nodes[&named(load, "node")], vector(&load["f_n"]), vector(&load["m_nm"])))
                .collect(),
            spread: list("member_loads")
                .iter()
                .map(|load| (members[&named(load, "member")], vector(&load["w_n_per_m"])))
                .collect(),
            gravity: None,
        };
        Self { model, loads, nodes, members }
    }
}

fn cases() -> Vec<Value> {
    let all: Value = serde_json::from_str(CASES).expect("the file is JSON");
    let list = |key: &str| all[key].as_array().expect("a list").clone();
    [list("closed_form_cases"), list("numeric_cases")].concat()
}

/// Asserts six or twelve numbers, forces apart from moments: each within a share of the largest of its kind.
fn assert_like(found: &[f64], wanted: &[f64], largest: [f64; 2], share: f64, what: &str) {
    for (i, (found, wanted)) in found.iter().zip(wanted).enumerate() {
        let scale = largest[i / 3 % 2].max(1e-12);
        assert!((found - wanted).abs() <= share * scale, "{what}[{i}]: {found} is not {wanted}");
    }
}

fn largest<'v>(lists: impl Iterator<Item = &'v Value>) -> [f64; 2] {
    let mut out = [0.0_f64; 2];
    for list in lists {
        for (i, value) in numbers(list).into_iter().enumerate() {
            out[i / 3 % 2] = out[i / 3 % 2].max(value.abs());
        }
    }
    out
}

/// Every movement, reaction and end force of every case within 0.01 % of the largest of its kind: `PyNiteFEA` 3.2.0.
#[test]
fn every_published_case_comes_out_as_other_solvers_have_it() {
    let all = cases();
    assert!(all.len() >= 13);
    for case in &all {
        let id = case["id"].as_str().expect("an id");
        let Case { model, loads, nodes, members } = Case::of(case);
        let stiff = Stiff::of(&model);
        assert!(!stiff.is_loose(), "{id}");
        let response = stiff.under(&loads);
        let results = &case["results"];
        let of = |vector: &nalgebra::DVector<f64>, node: usize| vector.as_slice()[6 * node..6 * node + 6].to_vec();
        let wanted = table(&results["displacements"]);
        let scale = largest(wanted.values());
        for (name, values) in wanted {
            assert_like(&of(&response.moved, nodes[name]), &numbers(values), scale, 1e-4, &format!("{id} {name}"));
        }
        let wanted = table(&results["reactions"]);
        let scale = largest(wanted.values());
        for (name, values) in wanted {
            assert_like(
                &of(&response.reactions, nodes[name]),
                &numbers(values),
                scale,
                1e-4,
                &format!("{id} {name} R"),
            );
        }
        let wanted = table(&results["member_end_forces_local"]);
        let scale = largest(wanted.values());
        for (name, values) in wanted {
            let found = response.ends[members[name]];
            assert_like(found.as_slice(), &numbers(values), scale, 1e-4, &format!("{id} {name} ends"));
        }
    }
}

/// 40×80 heavy and the moduli of the cases (idealised section by sectionproperties 3.10.2).
const SECTION: Section =
    Section { area: 1.53258e-3, i_strong: 1.005_198e-6, i_weak: 2.53594e-7, j: 1.4696e-7, shear: None };
const ALUMINIUM: Material = Material::ALUMINIUM;

/// A beam along x in `pieces`, held at its first node, with these sections.
fn beam(length: f64, pieces: usize, section: Section) -> Model {
    let node = |i: usize| Node::free(Vec3::new(length * i as f64 / pieces as f64, 0.0, 0.0));
    let mut model = Model { nodes: (0..=pieces).map(node).collect(), ..Model::default() };
    model.nodes[0].held = [true; 6];
    model.members =
        (0..pieces).map(|i| Member { ends: [i, i + 1], section, material: ALUMINIUM, strong: Vec3::z() }).collect();
    model
}

fn pulled(node: usize, force: Vec3) -> Loads {
    Loads { nodes: vec![(node, force, Vec3::zeros())], ..Loads::default() }
}

fn close(found: f64, wanted: f64, share: f64) {
    assert!((found - wanted).abs() <= share * wanted.abs(), "{found} is not {wanted}");
}

/// Timoshenko's cantilever: P L³/3EI + P L/GAs (any strength-of-materials text). Heavy 40×160 at 300 mm: the second part
/// is 0.72 of the first.
#[test]
fn a_short_deep_cantilever_gives_in_shear_as_well() {
    let (i, area, length, force) = (691.164e-8, 849e-6, 0.3, 1000.0);
    let section = Section { i_strong: i, shear: Some([area, 1057e-6]), ..SECTION };
    for pieces in [1, 3] {
        let model = beam(length, pieces, section);
        let down = -Stiff::of(&model).under(&pulled(pieces, Vec3::new(0.0, 0.0, -force))).shift(pieces).z;
        let bending = force * length.powi(3) / (3.0 * ALUMINIUM.e * i);
        let shear = force * length / (ALUMINIUM.g * area);
        close(down, bending + shear, 1e-6);
        close(shear / bending, 0.72, 0.01);
    }
}

/// A beam on a turning spring k: the end sinks by P L³/3EI + P L²/k.
#[test]
fn a_beam_on_a_springy_joint_turns_there() {
    let (length, force, k) = (0.8, 300.0, 12_000.0);
    let mut model = beam(length, 1, SECTION);
    model.nodes[0].held = [false; 6];
    model.nodes.push(Node { held: [true; 6], ..Node::free(Vec3::zeros()) });
    model.joints = vec![Joint {
        nodes: [2, 0],
        at: Vec3::zeros(),
        axes: Matrix3::identity(),
        push: [1e12; 3],
        turn: [1e12, k, 1e12],
    }];
    let response = Stiff::of(&model).under(&pulled(1, Vec3::new(0.0, 0.0, -force)));
    let wanted = force * length.powi(3) / (3.0 * ALUMINIUM.e * SECTION.i_strong) + force * length.powi(2) / k;
    close(-response.shift(1).z, wanted, 1e-4);
    // The joint passes the whole force and the moment at the wall: P downward and P L about +y.
    let [pushed, turned] = response.joints[0];
    assert!((pushed - Vec3::new(0.0, 0.0, 300.0)).norm() < 1e-3 && (turned.y.abs() - force * length).abs() < 1e-3);
}

/// Two nodes 20 mm apart, tied by a joint without give, move as one rigid piece: like a cantilever from the wall, whose
/// tip turned by P L²/2EI carries the far node down by 20 mm times that turn.
#[test]
fn a_stiff_joint_is_a_rigid_arm() {
    let (length, arm, force) = (0.8, 0.02, 300.0);
    let mut model = beam(length, 1, SECTION);
    model.nodes.push(Node::free(Vec3::new(length + arm, 0.0, 0.0)));
    model.joints = vec![Joint {
        nodes: [1, 2],
        at: Vec3::new(length + 0.005, 0.0, 0.0),
        axes: Matrix3::identity(),
        push: [1e12; 3],
        turn: [1e12; 3],
    }];
    let response = Stiff::of(&model).under(&pulled(2, Vec3::new(0.0, 0.0, -force)));
    let ei = ALUMINIUM.e * SECTION.i_strong;
    let (m, p) = (force * arm, force);
    let tip = p * length.powi(3) / (3.0 * ei) + m * length.powi(2) / (2.0 * ei);
    let turn = p * length.powi(2) / (2.0 * ei) + m * length / ei;
    close(-response.shift(2).z, tip + turn * arm, 1e-5);
}

/// First bending frequency of a cantilever: 1.875104²/2π · √(EI/ρA L⁴) (Blevins, Formulas for natural frequency and mode
/// shape, 1979, table 8-1; from memory). The weak way is the slower one.
#[test]
fn a_cantilever_swings_at_its_published_frequency() {
    for (length, pieces) in [(1.0, 4), (0.5, 6), (1.4, 3)] {
        let model = beam(length, pieces, SECTION);
        let (found, shape) = Stiff::of(&model).first_frequency().expect("a sound frame");
        let (ei, line) = (ALUMINIUM.e * SECTION.i_weak, ALUMINIUM.density * SECTION.area);
        let wanted = 1.875_104_f64.powi(2) / std::f64::consts::TAU * (ei / (line * f64::powi(length, 4))).sqrt();
        close(found, wanted, 1e-3);
        assert!(shape[6 * pieces + 1].abs() > 100.0 * shape[6 * pieces + 2].abs(), "it swings sideways");
    }
}

/// A light beam with a heavy end: ω² = 3EI/L³ / m.
#[test]
fn a_heavy_end_swings_as_on_a_spring() {
    let mut model = beam(0.5, 2, SECTION);
    model.members.iter_mut().for_each(|member| member.material.density = 1e-3);
    model.nodes[2].mass = 20.0;
    let (found, _) = Stiff::of(&model).first_frequency().expect("a sound frame");
    let stiffness = 3.0 * ALUMINIUM.e * SECTION.i_weak / 0.5_f64.powi(3);
    close(found, (stiffness / 20.0).sqrt() / std::f64::consts::TAU, 1e-3);
}

/// The weight of a beam and of what hangs on it arrives at the wall: m g and m g L/2 + M g L.
#[test]
fn weight_arrives_at_the_support() {
    let mut model = beam(1.2, 3, SECTION);
    model.nodes[3].mass = 5.0;
    let loads = Loads { gravity: Some(Vec3::new(0.0, 0.0, -9.80665)), ..Loads::default() };
    let response = Stiff::of(&model).under(&loads);
    let own = 2700.0 * 1.53258e-3 * 1.2 * 9.80665;
    close(response.support(0).z, own + 5.0 * 9.80665, 1e-9);
    close(-response.reactions[4], own * 0.6 + 5.0 * 9.80665 * 1.2, 1e-9);
}

fn space_frame() -> Case {
    let all = cases();
    Case::of(all.iter().find(|case| case["id"] == "cockpit_closed_loop_selfweight").expect("the case"))
}

/// Reactions and loads are in balance about any point (statics).
#[test]
fn forces_and_moments_are_in_balance() {
    let Case { model, loads, .. } = space_frame();
    let response = Stiff::of(&model).under(&loads);
    for about in [Vec3::zeros(), Vec3::new(0.7, -1.3, 2.1)] {
        let (mut force, mut moment) = (Vec3::zeros(), Vec3::zeros());
        let mut add = |at: Vec3, f: Vec3, m: Vec3| {
            force += f;
            moment += m + (at - about).cross(&f);
        };
        for (index, node) in model.nodes.iter().enumerate() {
            add(node.at, response.support(index), response.reactions.fixed_rows::<3>(6 * index + 3).into_owned());
        }
        for &(node, f, m) in &loads.nodes {
            add(model.nodes[node].at, f, m);
        }
        for &(member, w) in &loads.spread {
            let [a, b] = model.members[member].ends.map(|node| model.nodes[node].at);
            add((a + b) / 2.0, w * (b - a).norm(), Vec3::zeros());
        }
        assert!(force.norm() < 1e-6 && moment.norm() < 1e-6, "{force} {moment}");
    }
}

/// What a force at a does at b, the same force at b does at a (Maxwell and Betti).
#[test]
fn influence_goes_both_ways() {
    let Case { model, nodes, .. } = space_frame();
    let stiff = Stiff::of(&model);
    let (a, b) = (nodes["face"], nodes["hub"]);
    let (f_a, f_b) = (Vec3::new(100.0, 20.0, -30.0), Vec3::new(-40.0, 60.0, 90.0));
    let there = stiff.under(&pulled(a, f_a)).shift(b).dot(&f_b);
    let back = stiff.under(&pulled(b, f_b)).shift(a).dot(&f_a);
    assert!(there.abs() > 1e-7);
    close(there, back, 1e-9);
}

/// A frame turned with its loads answers turned (objectivity).
#[test]
fn a_turned_frame_answers_turned() {
    let Case { model, loads, .. } = Case::of(&cases()[9]);
    let turn = Rotation3::from_euler_angles(0.4, -1.1, 2.3);
    let plain = Stiff::of(&model).under(&loads);
    let mut turned = model.clone();
    for node in &mut turned.nodes {
        node.at = turn * node.at;
        // Only whole supports may be turned.
        if node.held[0] {
            node.held = [true; 6];
        }
    }
    let mut upright = model.clone();
    upright.nodes.iter_mut().filter(|node| node.held[0]).for_each(|node| node.held = [true; 6]);
    turned.members.iter_mut().for_each(|member| member.strong = turn * member.strong);
    let turned_loads = Loads {
        nodes: loads.nodes.iter().map(|&(node, f, m)| (node, turn * f, turn * m)).collect(),
        spread: loads.spread.iter().map(|&(member, w)| (member, turn * w)).collect(),
        gravity: None,
    };
    let (a, b) = (Stiff::of(&upright).under(&loads), Stiff::of(&turned).under(&turned_loads));
    assert!((plain.shift(3) - a.shift(3)).norm() > 1e-6, "the supports matter");
    for node in 0..model.nodes.len() {
        assert!((turn * a.shift(node) - b.shift(node)).norm() < 1e-9);
        assert!((turn * a.turn(node) - b.turn(node)).norm() < 1e-9);
    }
}

/// A member cut in two answers as before.
#[test]
fn a_node_on_a_beam_changes_nothing() {
    let tip = |pieces: usize| {
        let model = beam(1.1, pieces, Section { shear: Some([440e-6, 520e-6]), ..SECTION });
        Stiff::of(&model).under(&pulled(pieces, Vec3::new(10.0, 200.0, -300.0))).shift(pieces)
    };
    for pieces in [2, 7] {
        assert!((tip(1) - tip(pieces)).norm() < 1e-12);
    }
}

/// Twice the energy in members and joints is what the load does: Clapeyron.
#[test]
fn energy_is_half_of_force_times_way() {
    let mut model = beam(0.8, 2, Section { shear: Some([440e-6, 520e-6]), ..SECTION });
    model.nodes[0].held = [false; 6];
    model.nodes.push(Node { held: [true; 6], ..Node::free(Vec3::new(0.0, 0.03, 0.0)) });
    model.joints = vec![Joint {
        nodes: [3, 0],
        at: Vec3::new(0.0, 0.02, 0.0),
        axes: Matrix3::identity(),
        push: [3e7; 3],
        turn: [8e3, 9e3, 1e4],
    }];
    let stiff = Stiff::of(&model);
    let (force, moment) = (Vec3::new(50.0, 120.0, -300.0), Vec3::new(20.0, 5.0, -10.0));
    let response = stiff.under(&Loads { nodes: vec![(2, force, moment)], ..Loads::default() });
    let members: f64 = stiff.energies(&response).iter().map(|energy| energy.sum()).sum();
    let joints: f64 = stiff.joint_energies(&response).iter().sum();
    assert!(members > 0.0 && joints > 0.0);
    close(members + joints, 0.5 * (force.dot(&response.shift(2)) + moment.dot(&response.turn(2))), 1e-6);
}

fn loose(model: &Model) -> Vec<nalgebra::DVector<f64>> {
    Stiff::of(model).loose_shapes()
}

/// A beam that nothing holds has the six movements of a rigid body; one on two hinges in line turns about them; a second
/// beam that touches nothing moves alone. Each shape asks for no force.
#[test]
fn what_can_move_freely_is_found_with_its_shape() {
    let mut floating = beam(1.0, 2, SECTION);
    floating.nodes[0].held = [false; 6];
    assert_eq!(loose(&floating).len(), 6);

    let mut hinged = beam(1.0, 2, SECTION);
    hinged.nodes[0].held = [true, true, true, false, false, false];
    hinged.nodes[2].held = [true, true, true, false, false, false];
    let shapes = loose(&hinged);
    assert_eq!(shapes.len(), 1);
    // It turns about its own axis and does nothing else.
    let own = |node: usize| shapes[0][6 * node + 3].abs();
    assert!((own(0) - 1.0).abs() < 1e-6 && (own(2) - 1.0).abs() < 1e-6 && shapes[0].norm() < 3.0_f64.sqrt() + 1e-6);

    let mut two = beam(1.0, 1, SECTION);
    two.nodes.extend([0.0, 1.0].map(|x| Node::free(Vec3::new(x, 0.5, 0.0))));
    two.members.push(Member { ends: [2, 3], ..two.members[0] });
    let shapes = loose(&two);
    assert_eq!(shapes.len(), 6);
    assert!(shapes.iter().all(|shape| shape.rows(0, 12).amax() < 1e-9 && shape.rows(12, 12).amax() > 0.5));
    // The sound part still answers.
    let response: Response = Stiff::of(&two).under(&pulled(1, Vec3::new(0.0, 0.0, -500.0)));
    close(-response.shift(1).z, 500.0 / (3.0 * ALUMINIUM.e * SECTION.i_strong), 1e-6);
}

/// Twice the beam is twice the stiffness; a beam of no length, and a joint of a node with itself, do nothing.
#[test]
fn doubled_and_empty_members_do_no_harm() {
    let force = Vec3::new(0.0, 0.0, -500.0);
    let single = Stiff::of(&beam(1.0, 1, SECTION)).under(&pulled(1, force)).shift(1).z;
    let mut doubled = beam(1.0, 1, SECTION);
    doubled.members.push(doubled.members[0]);
    close(Stiff::of(&doubled).under(&pulled(1, force)).shift(1).z, single / 2.0, 1e-9);
    let mut empty = beam(1.0, 1, SECTION);
    empty.members.push(Member { ends: [1, 1], ..empty.members[0] });
    empty.joints.push(Joint {
        nodes: [1, 1],
        at: Vec3::x(),
        axes: Matrix3::identity(),
        push: [1e6; 3],
        turn: [1e3; 3],
    });
    assert!(Stiff::of(&empty).under(&pulled(1, force)).shift(1).z.is_finite());
}
