//! The page of screens: how many, how their size and place are said, and what holds them.

use bevy_egui::egui::Ui;

use super::{
    heading,
    inputs::{action, choice},
};
use crate::{
    geometry::Vec3,
    project::{Project, ScreenKind, ScreenPlace, ScreenSize, ScreenStand, Screens},
    units::to_mm,
    viewer::theme::Theme,
};

/// To begin with where somebody weighed the stand, kg: common practice, no published source.
const STAND_KG: f64 = 4.0;

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Single,
    Triple,
    Ultrawide,
}

/// What is chosen rather than measured; `eye` is between the driver's eyes, W, where the driver is known.
pub(super) fn screens_ui(ui: &mut Ui, draft: &mut Project, eye: Option<Vec3>, theme: &Theme) {
    heading(ui, "Screens", theme);
    let Some(screens) = &mut draft.screens else {
        if action(ui, "Put a screen before the driver", theme).clicked() {
            draft.screens = Some(Screens::usual());
        }
        return;
    };
    let mut kind = match screens.kind {
        ScreenKind::Single => Kind::Single,
        ScreenKind::Triple { .. } => Kind::Triple,
        ScreenKind::Ultrawide { .. } => Kind::Ultrawide,
    };
    let former = kind;
    choice(ui, "Kind", &mut kind, &[(Kind::Single, "One"), (Kind::Triple, "Three"), (Kind::Ultrawide, "Bent")]);
    if kind != former {
        let of_kind = match kind {
            Kind::Single => ScreenKind::Single,
            Kind::Triple => ScreenKind::Triple { side_angle_deg: 0.0 },
            Kind::Ultrawide => ScreenKind::Ultrawide { radius_mm: 0.0 },
        };
        screens.kind = of_kind.usual();
    }

    let mut by_diagonal = matches!(screens.size, ScreenSize::Diagonal { .. });
    let was = by_diagonal;
    choice(ui, "Size by", &mut by_diagonal, &[(true, "Diagonal"), (false, "Sides")]);
    if by_diagonal != was {
        let [width_mm, height_mm] = screens.size.sides_mm().map(f64::round);
        screens.size = if by_diagonal {
            ScreenSize::Diagonal { diagonal_mm: width_mm.hypot(height_mm).round(), aspect: [width_mm, height_mm] }
        } else {
            ScreenSize::Sides { width_mm, height_mm }
        };
        if let ScreenSize::Diagonal { aspect, .. } = &mut screens.size {
            // As it is printed on the box, where it is one of the usual ones.
            let ratio = aspect[0] / aspect[1].max(1.0);
            let usual = [[16.0, 9.0], [16.0, 10.0], [21.0, 9.0], [32.0, 9.0]];
            let near = usual.into_iter().find(|[wide, high]| (wide / high / ratio - 1.0).abs() < 0.03);
            *aspect = near.unwrap_or([ratio, 1.0]);
        }
    }

    let mut from_eye = matches!(screens.place, ScreenPlace::FromEye { .. });
    let was = from_eye;
    choice(ui, "Place", &mut from_eye, &[(false, "In the rig"), (true, "From the eye")]);
    if from_eye != was
        && let Some(middle) = screens.middle_mm()
    {
        match eye.filter(|_| from_eye) {
            Some(eye) => {
                let eye_mm = [eye.x, eye.y, eye.z].map(|c| to_mm(c).round());
                let distance = (0..3).map(|axis| (middle[axis] - eye_mm[axis]).powi(2)).sum::<f64>().sqrt();
                screens.put_before(eye_mm, distance.round());
            }
            None => screens.place = ScreenPlace::InRig { forward_mm: middle[0].round(), left_mm: middle[1].round() },
        }
    }

    let feet = ScreenStand::Feet { post_mm: [0.0; 2], foot_mm: [0.0; 3], apart_mm: 0.0 }.usual();
    let mut stands = vec![("elsewhere".to_owned(), ScreenStand::Elsewhere), ("on feet".to_owned(), feet)];
    stands.extend(draft.frame.iter().map(|rail| {
        let stand = ScreenStand::Rail { rail: rail.name.clone(), arm_mm: [0.0; 2] }.usual();
        (rail.name.clone(), stand)
    }));
    let same = |one: &ScreenStand, other: &ScreenStand| match (one, other) {
        (ScreenStand::Rail { rail: a, .. }, ScreenStand::Rail { rail: b, .. }) => a == b,
        _ => std::mem::discriminant(one) == std::mem::discriminant(other),
    };
    let mut held = stands.iter().position(|(_, stand)| same(stand, &screens.stand)).unwrap_or(0);
    let was = held;
    let words: Vec<(usize, &str)> =
        stands.iter().enumerate().map(|(index, (word, _))| (index, word.as_str())).collect();
    choice(ui, "Held", &mut held, &words);
    if held != was
        && let Some((_, stand)) = stands.get(held)
    {
        screens.stand = stand.clone();
    }
    let each_kg = (screens.each_kg() * 10.0).round() / 10.0;
    for (label, mass, usual) in
        [("One weighs", &mut screens.mass_kg, each_kg), ("Stand weighs", &mut screens.stand_kg, STAND_KG)]
    {
        let mut known = mass.is_some();
        choice(ui, label, &mut known, &[(false, "Estimated"), (true, "As I say")]);
        if known != mass.is_some() {
            *mass = known.then_some(usual);
        }
    }
    if action(ui, "Take the screens away", theme).clicked() {
        draft.screens = None;
    }
}
