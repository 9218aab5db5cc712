//! Whether the parts fit together: seat, wheel unit and pedal plate among the rails and beside screens, and over the
//! range of the slider.

use super::{Figure, Place, room};
use crate::{
    geometry::{Nearest, RoundedBox, Solid, Vec3, between},
    posture::Moment,
    project::StandsFor,
    rig::Rig,
    study::Solved,
    units::{Unit, mm, to_mm},
};

/// Parts further apart than this are far apart, m.
const FAR: f64 = mm(400.0);
/// A slider is moved on by no less than this, m, and stands still where the gap is less than `TOUCH`.
const STEP: f64 = mm(2.0);
const TOUCH: f64 = mm(0.1);

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let rig = &study.rig;
    let rails: Vec<Named> = rig.rails.iter().map(|rail| Named::of_rail(&rail.name, &rail.solid)).collect();
    let seat = seat(rig);
    let mut out = Vec::new();
    if !rails.is_empty() {
        let (gap, figure) = seat_among(&seat, &rails);
        out.push(figure);
        // A seat that doesn't fit where it stands needs no word about where else it doesn't.
        if gap > 0.0 {
            out.extend(slider(study, &seat, &rails));
        }
    }
    let from_file = rig.imported.iter().find(|part| part.stands_for == StandsFor::WheelUnit);
    let unit = from_file.map_or(Solid::Box(rig.wheel.unit), |part| Solid::Mesh(part.solid.clone()));
    let from_files = rig.imported.iter().filter(|part| part.stands_for == StandsFor::Screen).map(Named::of);
    let screens: Vec<Named> = Named::of_screens(rig).chain(from_files).collect();
    if let Some((screen, nearest)) = least(std::slice::from_ref(&unit), &screens) {
        let gap = to_mm(nearest.gap);
        let sentence = if gap < 0.0 {
            format!(
                "Your wheel unit would be {} inside {}: move the screen away, or the wheel nearer.",
                Unit::Millimetre.show(-gap),
                screen.words
            )
        } else {
            format!("Your wheel unit keeps {} from {}.", Unit::Millimetre.show(gap), screen.words)
        };
        out.push(figure("unit_screen", gap, sentence, &nearest, ["wheel unit", &screen.name]));
    }
    let plate = rig.imported.iter().find(|part| part.stands_for == StandsFor::PedalPlate);
    let plate = plate.map_or(Solid::Box(rig.pedals.base), |part| Solid::Mesh(part.solid.clone()));
    for (id, what, part) in [("unit_rails", "wheel unit", &unit), ("plate_rails", "pedal plate", &plate)] {
        out.extend(sunk(id, what, part, &rails));
    }
    out.extend(screen_in_rail(rig, &rails));
    out.extend(beyond(&plate, &rails));
    // Sliders among rails have a figure of their own, with or without being described.
    if !study.project.adjusters.is_empty() {
        out.extend(room::figures(&room::rooms(&study.project, rig), rig));
    }
    out
}

/// A part with its name, and how a sentence calls it.
struct Named {
    name: String,
    words: String,
    solid: Solid,
}

impl Named {
    fn of_rail(name: &str, solid: &RoundedBox) -> Self {
        Self { name: name.to_owned(), words: format!("the rail “{name}”"), solid: Solid::Box(*solid) }
    }

    fn of_screens(rig: &Rig) -> impl Iterator<Item = Self> {
        let solids = rig.screens.iter().flat_map(|screens| &screens.solids);
        solids.map(|(name, solid)| Self {
            name: (*name).to_owned(),
            words: format!("the {name}"),
            solid: Solid::Box(*solid),
        })
    }

    fn of(part: &crate::rig::ImportedPart) -> Self {
        Self { name: part.name.clone(), words: format!("“{}”", part.name), solid: Solid::Mesh(part.solid.clone()) }
    }
}

/// The seat's solids, or its shape from a file.
fn seat(rig: &Rig) -> Vec<Solid> {
    let from_file = rig.imported.iter().filter(|part| part.stands_for == StandsFor::Seat);
    let meshes: Vec<Solid> = from_file.map(|part| Solid::Mesh(part.solid.clone())).collect();
    if meshes.is_empty() { rig.seat.solids.iter().map(|(_, solid)| Solid::Box(*solid)).collect() } else { meshes }
}

/// The nearest two of some solids and some parts, no further than [`FAR`].
fn least<'n>(solids: &[Solid], parts: &'n [Named]) -> Option<(&'n Named, Nearest)> {
    let mut best: Option<(&Named, Nearest)> = None;
    for part in parts {
        for solid in solids {
            let limit = best.as_ref().map_or(FAR, |(_, nearest)| nearest.gap);
            let found = between(solid, &part.solid, limit);
            if found.gap < limit {
                best = Some((part, found));
            }
        }
    }
    best
}

fn figure(id: &'static str, value: f64, sentence: String, nearest: &Nearest, parts: [&str; 2]) -> Figure {
    Figure {
        id,
        side: None,
        item: None,
        value,
        sentence,
        place: Place::Gap { from: nearest.on_a, to: nearest.on_b },
        moment: Moment::REST,
        parts: parts.map(str::to_owned).to_vec(),
    }
}

/// The seat where it stands.
fn seat_among(seat: &[Solid], rails: &[Named]) -> (f64, Figure) {
    let show = |value: f64| Unit::Millimetre.show(value);
    let Some((rail, nearest)) = least(seat, rails) else {
        let middle = seat.first().map_or_else(Vec3::zeros, |solid| extent(solid)[0]);
        let nowhere = Nearest { gap: FAR, on_a: middle, on_b: middle };
        let sentence = format!("No rail is within {} of your seat.", show(to_mm(FAR)));
        return (FAR, figure("seat_rails", to_mm(FAR), sentence, &nowhere, ["seat", "frame"]));
    };
    let gap = to_mm(nearest.gap);
    let sentence = if gap >= 0.0 {
        format!("Your seat keeps {} from {}.", show(gap), rail.words)
    } else {
        too_wide(seat, rails).unwrap_or_else(|| {
            format!("Your seat would be {} inside {}: move the one or the other.", show(-gap), rail.words)
        })
    };
    (nearest.gap, figure("seat_rails", gap, sentence, &nearest, ["seat", &rail.name]))
}

/// What is said of a seat that stands in rails on both sides.
fn too_wide(seat: &[Solid], rails: &[Named]) -> Option<String> {
    let meets = |solid: &Solid, rail: &Named| between(solid, &rail.solid, 0.0).gap < 0.0;
    // As wide as what is in the way: wings may stand out further up.
    let in_the_way = seat.iter().filter(|solid| rails.iter().any(|rail| meets(solid, rail)));
    let [low, high] = in_the_way.map(extent).reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)])?;
    let middle = f64::midpoint(low.y, high.y);
    let inside = rails.iter().filter(|rail| seat.iter().any(|solid| meets(solid, rail)));
    let mut left: Option<(f64, &Named)> = None;
    let mut right = left;
    for rail in inside {
        let [rail_low, rail_high] = extent(&rail.solid);
        if rail_low.y > middle && left.is_none_or(|(known, _)| rail_low.y < known) {
            left = Some((rail_low.y, rail));
        }
        if rail_high.y < middle && right.is_none_or(|(known, _)| rail_high.y > known) {
            right = Some((rail_high.y, rail));
        }
    }
    let ((left, on_left), (right, on_right)) = (left?, right?);
    let (width, room) = (high.y - low.y, left - right);
    Some(format!(
        "Your seat is {} wide; {} and {} leave {} between them, {} too little.",
        Unit::Millimetre.show(to_mm(width)),
        on_left.words,
        on_right.words,
        Unit::Millimetre.show(to_mm(room)),
        Unit::Millimetre.show(to_mm(width - room)),
    ))
}

/// What of the slider's range the seat can't be moved over, for rails.
fn slider(study: &Solved, seat: &[Solid], rails: &[Named]) -> Option<Figure> {
    let slider = study.project.seat.slider;
    let show = |value: f64| Unit::Millimetre.show(value);
    let mut lost = 0.0;
    let mut said = Vec::new();
    let mut place = None;
    for (end, way) in [(slider.range_mm[1], "Forward"), (slider.range_mm[0], "Back")] {
        let travel = mm(end - slider.at_mm);
        if travel.abs() < TOUCH {
            continue;
        }
        // What is further away than the seat goes is left out.
        let near: Vec<&Named> = rails
            .iter()
            .filter(|rail| seat.iter().any(|solid| between(solid, &rail.solid, travel.abs()).gap < travel.abs()))
            .collect();
        let mut gone = 0.0;
        while gone < travel.abs() && !near.is_empty() {
            let by = Vec3::x() * gone.copysign(travel);
            let mut best: Option<(&Named, Nearest)> = None;
            for (rail, solid) in near.iter().flat_map(|rail| seat.iter().map(move |solid| (*rail, solid))) {
                let limit = best.as_ref().map_or(FAR, |(_, nearest)| nearest.gap);
                let found = between(&solid.shifted(by), &rail.solid, limit);
                if found.gap < limit {
                    best = Some((rail, found));
                }
            }
            let Some((rail, nearest)) = best else { break };
            if nearest.gap < TOUCH {
                let (stop, left) = (slider.at_mm + to_mm(gone.copysign(travel)), to_mm(travel.abs() - gone));
                lost += left;
                said.push(format!(
                    "{way} your seat's slider goes to {}, but at {} the seat meets {}: {} can't be used.",
                    show(end),
                    show(stop),
                    rail.words,
                    show(left)
                ));
                place.get_or_insert(nearest);
                break;
            }
            gone += nearest.gap.max(STEP);
        }
    }
    let nearest = place.unwrap_or_else(|| {
        let at = study.rig.seat.X_WS.translation.vector;
        Nearest { gap: 0.0, on_a: at, on_b: at }
    });
    let sentence = if said.is_empty() {
        "Your seat goes over the whole range of its slider without meeting a rail.".to_owned()
    } else {
        said.join(" ")
    };
    (slider.range_mm[1] > slider.range_mm[0])
        .then(|| figure("slider_rails", lost, sentence, &nearest, ["seat", "frame"]))
}

/// How deep a part that is bolted to rails lies inside one.
fn sunk(id: &'static str, what: &str, part: &Solid, rails: &[Named]) -> Option<Figure> {
    let (rail, nearest) = least(std::slice::from_ref(part), rails)?;
    let deep = to_mm(-nearest.gap).max(0.0);
    let sentence = if deep > 0.5 {
        format!("Your {what} would be {} inside {}: move it, or the rail.", Unit::Millimetre.show(deep), rail.words)
    } else {
        format!("Your {what} goes through no rail; the nearest is {}.", rail.words)
    };
    Some(figure(id, deep, sentence, &nearest, [what, &rail.name]))
}

/// The screens and their stand among the rails; the arm ends in the rail that carries it.
fn screen_in_rail(rig: &Rig, rails: &[Named]) -> Option<Figure> {
    let carried_by = rig.screens.as_ref()?.on_rail;
    let deepest = Named::of_screens(rig).filter_map(|part| {
        let on_arm = part.name == "screen arm";
        let others = rails.iter().enumerate().filter(|(index, _)| !on_arm || Some(*index) != carried_by);
        let nearest = others.filter_map(|(_, rail)| {
            let found = between(&part.solid, &rail.solid, FAR);
            (found.gap < FAR).then_some((rail, found))
        });
        let (rail, found) = nearest.min_by(|a, b| a.1.gap.total_cmp(&b.1.gap))?;
        Some((part, rail, found))
    });
    let (part, rail, nearest) = deepest.min_by(|a, b| a.2.gap.total_cmp(&b.2.gap))?;
    let deep = to_mm(-nearest.gap).max(0.0);
    let sentence = if deep > 0.5 {
        format!(
            "The {} would be {} inside {}: move it, or the rail.",
            part.name,
            Unit::Millimetre.show(deep),
            rail.words
        )
    } else {
        format!("No rail goes through your screens; the nearest to the {} is {}.", part.name, rail.words)
    };
    Some(figure("screen_rails", deep, sentence, &nearest, [&part.name, &rail.name]))
}

/// How far the pedal plate stands out before the foremost rail.
fn beyond(plate: &Solid, rails: &[Named]) -> Option<Figure> {
    let foremost = rails.iter().map(|rail| (extent(&rail.solid)[1].x, rail)).max_by(|a, b| a.0.total_cmp(&b.0));
    let (end, rail) = foremost?;
    let [low, high] = extent(plate);
    let over = to_mm(high.x - end);
    let sentence = if over > 0.0 {
        format!(
            "Your pedal plate ends {} before {}: make the base longer, or move the pedals towards you.",
            Unit::Millimetre.show(over),
            rail.words
        )
    } else {
        format!("Your pedal plate ends {} short of the frame's front end.", Unit::Millimetre.show(-over))
    };
    let at = Vec3::new(high.x, f64::midpoint(low.y, high.y), low.z);
    let nearest = Nearest { gap: 0.0, on_a: at, on_b: Vec3::new(end, at.y, at.z) };
    Some(figure("plate_over", over.max(0.0), sentence, &nearest, ["pedal plate", &rail.name]))
}

/// Lowest and highest corner along the axes of W.
fn extent(solid: &Solid) -> [Vec3; 2] {
    let corners = match solid {
        Solid::Box(own) => own.corners(),
        Solid::Mesh(own) => own.corners(),
        Solid::Capsule(own) => [own.a; 8],
        Solid::Rim(own) => [own.pose.translation.vector; 8],
    };
    let [first, ..] = corners;
    corners.iter().fold([first; 2], |[low, high], corner| [low.inf(corner), high.sup(corner)])
}
