//! What of a frame doesn't hold together, and what to add.

use super::build::{Built, Tie};
use crate::{
    frame::{Duty, Stiff},
    units::to_mm,
};

/// Something that a frame cannot be computed, or built, with.
#[derive(Clone, Debug, PartialEq, thiserror::Error, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Loose {
    /// There are no rails.
    #[error("The project has no rails. Add the rails of the frame, or leave the frame out of what you ask.")]
    NoRails,
    /// A rail shorter than anything that can be cut.
    #[error("Rail '{rail}' has no length. Give its two ends different places.")]
    NoLength {
        /// The rail.
        rail: String,
    },
    /// Two rails in one place.
    #[error("Rail '{rail}' lies inside rail '{of}': take one of the two out, or move it.")]
    Double {
        /// The later one.
        rail: String,
        /// The earlier one.
        of: String,
    },
    /// Rails that nothing ties to those that stand on the floor.
    #[error(
        "Rail '{rail}'{} nothing that stands on the floor.{} Move it against a rail, or add one between.",
        others_words(*others),
        nearest.as_ref().map_or_else(String::new, |rail| format!(" The nearest rail is '{rail}', {:.0} mm away.", to_mm(*gap)))
    )]
    Apart {
        /// The first of them.
        rail: String,
        /// How many more hang together with it.
        others: usize,
        /// The nearest rail of the rest.
        nearest: Option<String>,
        /// How far away it is, m.
        gap: f64,
    },
    /// A frame, or a part of it, that can fall over or turn without resistance.
    #[error("Rail '{rail}' can {}: {}.", way.words(), way.advice())]
    Moves {
        /// The rail that moves most.
        rail: String,
        /// How.
        way: Way,
    },
    /// A part without a rail near enough.
    #[error(
        "No rail is within {:.0} mm of {part}{}. Add a rail that it can be bolted to; until then it is left out.",
        to_mm(*within),
        rail.as_ref().map_or_else(String::new, |rail| format!(": the nearest, '{rail}', is {:.0} mm away", to_mm(*gap)))
    )]
    Uncarried {
        /// The part.
        part: String,
        /// The nearest rail.
        rail: Option<String>,
        /// How far away it is, m.
        gap: f64,
        /// How far it may be, m.
        within: f64,
    },
}

fn others_words(others: usize) -> String {
    match others {
        0 => " touches".to_owned(),
        1 => " and one more that it is joined to touch".to_owned(),
        _ => format!(" and {others} more that it is joined to touch"),
    }
}

/// How something moves without resistance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// It turns about the one foot that it stands on.
    AboutItsFoot,
    /// It rolls over the line through its feet.
    OverItsFeet,
    /// It moves away.
    Away,
}

impl Way {
    const fn words(self) -> &'static str {
        match self {
            Self::AboutItsFoot => "turn about its foot",
            Self::OverItsFeet => "tip over its feet",
            Self::Away => "move without resistance",
        }
    }

    const fn advice(self) -> &'static str {
        match self {
            Self::AboutItsFoot => "add a bracket to a rail that stands by itself",
            Self::OverItsFeet => "its feet stand in one line, so add a rail with a foot beside them",
            Self::Away => "add a bracket to a rail that stands by itself, or a foot",
        }
    }
}

/// What doesn't hold together in a built frame, worst first.
pub fn looseness(built: &Built, duty: &Duty) -> Vec<Loose> {
    let mut out = Vec::new();
    if duty.rails.is_empty() {
        return vec![Loose::NoRails];
    }
    let name = |rail: usize| duty.rails[rail].name.clone();
    for (rail, own) in duty.rails.iter().enumerate() {
        if !built.node_rail.contains(&Some(rail)) {
            out.push(Loose::NoLength { rail: own.name.clone() });
        }
    }
    let groups = groups(built, duty.rails.len());
    let standing = |group: usize| built.feet.iter().any(|foot| groups[foot.rail] == group);
    let with_nodes: Vec<usize> = (0..duty.rails.len()).filter(|rail| built.node_rail.contains(&Some(*rail))).collect();
    for &rail in &with_nodes {
        let group = groups[rail];
        if standing(group) || with_nodes.iter().any(|&other| other < rail && groups[other] == group) {
            continue;
        }
        let others = with_nodes.iter().filter(|&&other| other != rail && groups[other] == group).count();
        let members: Vec<usize> = with_nodes.iter().copied().filter(|&other| groups[other] == group).collect();
        let by = with_nodes
            .iter()
            .filter(|&&other| groups[other] != group)
            .map(|&other| {
                let gap = members.iter().map(|&own| gap(built, own, other)).fold(f64::INFINITY, f64::min);
                (other, gap)
            })
            .min_by(|a, b| a.1.total_cmp(&b.1));
        out.push(Loose::Apart {
            rail: name(rail),
            others,
            nearest: by.map(|(other, _)| name(other)),
            gap: by.map_or(0.0, |(_, gap)| gap),
        });
    }
    // What stands and can still move.
    let mut told: Vec<usize> = Vec::new();
    for shape in Stiff::of(&built.model).loose_shapes() {
        // How far each rail moves; turning alone counts a little.
        let mut moved = vec![0.0_f64; duty.rails.len()];
        for (node, rail) in built.node_rail.iter().enumerate() {
            let Some(rail) = *rail else { continue };
            let size = shape.fixed_rows::<3>(6 * node).norm() + 0.01 * shape.fixed_rows::<3>(6 * node + 3).norm();
            moved[rail] = moved[rail].max(size);
        }
        let Some(&rail) = with_nodes.iter().max_by(|&&a, &&b| moved[a].total_cmp(&moved[b])) else { continue };
        let group = groups[rail];
        if !standing(group) || told.contains(&group) {
            continue;
        }
        told.push(group);
        // Every joint resists turning: what stands and moves does so over its feet.
        let way = match built.feet.iter().filter(|foot| groups[foot.rail] == group).count() {
            0 => Way::Away,
            1 => Way::AboutItsFoot,
            _ => Way::OverItsFeet,
        };
        out.push(Loose::Moves { rail: name(rail), way });
    }
    for &[of, rail] in &built.doubles {
        out.push(Loose::Double { rail: name(rail.max(of)), of: name(rail.min(of)) });
    }
    out.extend(built.loose.iter().cloned());
    out
}

/// Which rails hang together: a number for each, the same for those that do.
fn groups(built: &Built, rails: usize) -> Vec<usize> {
    let mut group: Vec<usize> = (0..rails).collect();
    for found in &built.joints {
        if let Tie::Rails { guest, host, .. } = found.tie {
            let (keep, drop) = (group[guest].min(group[host]), group[guest].max(group[host]));
            for own in &mut group {
                if *own == drop {
                    *own = keep;
                }
            }
        }
    }
    group
}

/// How far two rails are apart, m, to a few millimetres: from points along the one to the box of the other.
fn gap(built: &Built, a: usize, b: usize) -> f64 {
    let steps = 40;
    let from = |own: usize, other: usize| {
        let (bar, box_of) = (&built.bars[own], &built.bars[other]);
        let thick = bar.half.x.min(bar.half.y);
        (0..=steps)
            .map(|i| bar.from + (bar.to - bar.from) * (f64::from(i) / f64::from(steps)))
            .map(|p| (box_of.nearest(p).1 - thick).max(0.0))
            .fold(f64::INFINITY, f64::min)
    };
    from(a, b).min(from(b, a))
}
