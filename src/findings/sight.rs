//! What the driver sees of the screens: how far away they are, how high, and how much of the view they fill.

use serde::Serialize;

use super::{Figure, Place};
use crate::{
    geometry::Vec3,
    posture::Moment,
    rig::Pane,
    study::Solved,
    units::{Unit, to_deg, to_mm},
};

/// The screens as seen from the middle between the eyes. For one flat picture square before the eye the width of view is
/// 2 atan(w / 2d) of its width and distance.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sight {
    /// Straight to the middle of the middle picture.
    pub distance_mm: f64,
    /// From the horizontal up to the middle of the middle picture.
    pub above_deg: f64,
    /// Between the outermost edges of all pictures, seen from above: the horizontal field of view of a simulator.
    pub horizontal_deg: f64,
    /// The same for the middle picture alone.
    pub middle_deg: f64,
    /// Between the lower and the upper edge of the middle picture: the vertical field of view of a simulator.
    pub vertical_deg: f64,
    /// Whether the eyes are before the middle picture.
    pub is_before: bool,
}

impl Sight {
    /// As a driver sees; `None` without screens.
    pub fn of(study: &Solved) -> Option<Self> {
        let screens = study.rig.screens.as_ref()?;
        let eye = study.rest.sitting.eyes;
        let middle = screens.X_WM.translation.vector;
        let way = middle - eye;
        let level = way.xy().norm();
        let all = || screens.panes.iter();
        // Lower and upper edge in the middle of the picture.
        let up = screens.X_WM.rotation * Vec3::z();
        let half =
            all().find(|pane| pane.name == "screen").map_or(0.0, |pane| (pane.left[1] - pane.left[0]).norm() / 2.0);
        let (low, high) = (way - up * half, way + up * half);
        let vertical = low.cross(&high).norm().atan2(low.dot(&high));
        Some(Self {
            distance_mm: to_mm(way.norm()),
            above_deg: to_deg(way.z.atan2(level)),
            horizontal_deg: to_deg(all().map(|pane| width(pane, eye)).sum::<f64>() + gaps(&screens.panes, eye)),
            middle_deg: to_deg(all().filter(|pane| pane.name == "screen").map(|pane| width(pane, eye)).sum()),
            vertical_deg: to_deg(vertical),
            is_before: way.dot(&(screens.X_WM.rotation * Vec3::x())) > 0.0,
        })
    }
}

/// The angle at the eye from one point to another, seen from above, rad; anticlockwise positive.
fn turn(eye: Vec3, from: Vec3, to: Vec3) -> f64 {
    let (a, b) = ((from - eye).xy(), (to - eye).xy());
    a.perp(&b).atan2(a.dot(&b))
}

fn middle(edge: &[Vec3; 2]) -> Vec3 {
    (edge[0] + edge[1]) / 2.0
}

/// The width of a pane at the eye, rad; nothing where its back is seen.
fn width(pane: &Pane, eye: Vec3) -> f64 {
    turn(eye, middle(&pane.right), middle(&pane.left)).max(0.0)
}

/// What the casings between pictures take, rad.
fn gaps(panes: &[Pane], eye: Vec3) -> f64 {
    panes.windows(2).map(|pair| turn(eye, middle(&pair[1].left), middle(&pair[0].right)).max(0.0)).sum()
}

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let (Some(sight), Some(screens), Some(project)) =
        (Sight::of(study), &study.rig.screens, study.project.screens.as_ref())
    else {
        return Vec::new();
    };
    let (eye, at) = (study.rest.sitting.eyes, screens.X_WM.translation.vector);
    let what = project.kind.word();
    let place = Place::Gap { from: eye, to: at };
    let figure = |id, value, sentence, place| Figure {
        id,
        side: None,
        item: None,
        value,
        sentence,
        place,
        moment: Moment::REST,
        parts: vec!["eyes".to_owned(), what.to_owned()],
    };
    let (mm, degrees) = (|value: f64| Unit::Millimetre.show(value), |value: f64| Unit::Degree.show(value));
    let distance = if sight.is_before {
        format!("The middle of your {what} is {} from your eyes.", mm(sight.distance_mm))
    } else {
        "Your eyes are behind the screen: move it away, or yourself back.".to_owned()
    };
    let above = if sight.above_deg.abs() < 0.5 {
        format!("You look level at the middle of your {what}.")
    } else {
        let way = if sight.above_deg > 0.0 { "up" } else { "down" };
        format!("You look {way} by {} to the middle of your {what}.", degrees(sight.above_deg.abs()))
    };
    let triple = screens.panes.iter().any(|pane| pane.name == "left screen");
    let alone = if triple { format!(", the middle one {}", degrees(sight.middle_deg)) } else { String::new() };
    let width = format!(
        "Your {what} fills {} of your view from side to side{alone}, and {} from bottom to top: the fields of view that a \
         simulator asks for.",
        degrees(sight.horizontal_deg),
        degrees(sight.vertical_deg)
    );
    let ends = screens.panes.first().zip(screens.panes.last());
    let wide = ends.map_or(place, |(first, last)| Place::Angle {
        at: eye,
        from: middle(&first.left),
        to: middle(&last.right),
    });
    let level = Vec3::new((at - eye).xy().norm(), 0.0, 0.0);
    vec![
        // Behind the picture nothing is seen, however far it is.
        figure("screen_distance", if sight.is_before { sight.distance_mm } else { 0.0 }, distance, place),
        figure("screen_above", sight.above_deg, above, Place::Angle { at: eye, from: eye + level, to: at }),
        figure("screen_width", sight.horizontal_deg, width, wide),
    ]
}
