//! Where the eye is: orbit, pan and zoom about a focus, standard views, and an easing between two places.

use bevy::{
    light::{CascadeShadowConfig, CascadeShadowConfigBuilder},
    prelude::*,
};

use super::scene::{Stage, StageCamera, bevy_from_world};
use crate::{
    geometry::Vec3 as Point,
    principal::Elevation,
    project::SavedView,
    units::{deg, mm, mm_point, to_deg, to_mm},
};

/// Vertical angle of the perspective, rad: about a 60 mm lens on a 24 × 36 mm negative.
const FIELD_OF_VIEW: f64 = 0.42;
/// How long the eye takes from one standard view to the next, s.
const EASE: f64 = 0.25;
/// Distance of the eye from the focus in parallel projection, m; outside of every rig.
const PARALLEL_DISTANCE: f64 = 40.0;
/// Air around what is shown, as a share of it.
const AIR: f64 = 1.12;

/// A view with a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StandardView {
    /// From the driver's left, forward to the left as in vehicle drawings.
    Side,
    /// From above, forward to the left as in the side view.
    Top,
    /// From ahead.
    Front,
    /// From ahead, above and to the left, in perspective; from behind where screens would hide the driver.
    ThreeQuarter,
}

impl StandardView {
    /// All of them, in the order of their keys 1 to 4.
    pub const ALL: [Self; 4] = [Self::Side, Self::Top, Self::Front, Self::ThreeQuarter];

    /// The word on its button.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Side => "Side",
            Self::Top => "Top",
            Self::Front => "Front",
            Self::ThreeQuarter => "Three-quarter",
        }
    }

    /// Azimuth, elevation, and share of parallel projection.
    const fn angles(self, screened: bool) -> (f64, f64, f64) {
        match self {
            Self::Side => (deg(90.0), 0.0, 1.0),
            Self::Top => (deg(90.0), deg(90.0), 1.0),
            Self::Front => (0.0, 0.0, 1.0),
            Self::ThreeQuarter if screened => (deg(124.0), deg(19.0), 0.0),
            Self::ThreeQuarter => (deg(42.0), deg(16.0), 0.0),
        }
    }
}

/// A place of the eye.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// What it looks at, W, m.
    pub focus: Point,
    /// Direction from the focus to the eye, from x towards y, rad.
    pub azimuth: f64,
    /// The same, above the floor, rad, in ±π/2.
    pub elevation: f64,
    /// Height of the picture at the focus, m.
    pub height: f64,
    /// 0 perspective to 1 parallel.
    pub parallel: f64,
}

/// A point in a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Projected {
    /// Right and down from the upper left corner, in the picture's unit.
    pub at: [f64; 2],
    /// Nearness to the eye, m, 0 at the focus.
    pub near: f64,
}

impl Eye {
    /// A standard view of what lies within `bounds`, in a picture of `aspect` (width over height).
    pub fn standard(view: StandardView, bounds: &Bounds, aspect: f64) -> Self {
        let (azimuth, elevation, parallel) = view.angles(bounds.screened);
        let eye = Self { focus: bounds.centre(), azimuth, elevation, height: 1.0, parallel };
        eye.fitted(bounds, aspect)
    }

    /// As it is kept in a project.
    pub fn kept(&self, name: String) -> SavedView {
        let tenth = |value: f64| (value * 10.0).round() / 10.0;
        SavedView {
            name,
            focus_mm: std::array::from_fn(|axis| tenth(to_mm(self.focus[axis]))),
            azimuth_deg: tenth(to_deg(self.azimuth)),
            elevation_deg: tenth(to_deg(self.elevation)),
            height_mm: tenth(to_mm(self.height)),
            parallel: self.is_parallel(),
        }
    }

    /// A place that was kept.
    pub fn of_kept(view: &SavedView) -> Self {
        Self {
            focus: mm_point(view.focus_mm),
            azimuth: deg(view.azimuth_deg),
            elevation: deg(view.elevation_deg),
            height: mm(view.height_mm),
            parallel: if view.parallel { 1.0 } else { 0.0 },
        }
    }

    /// Unit vectors of the picture, W: right, up, towards the eye.
    pub fn axes(&self) -> [Point; 3] {
        let ((sa, ca), (se, ce)) = (self.azimuth.sin_cos(), self.elevation.sin_cos());
        [Point::new(-sa, ca, 0.0), Point::new(-se * ca, -se * sa, ce), Point::new(ce * ca, ce * sa, se)]
    }

    /// Vertical angle of the projection, rad; 0 in parallel projection.
    fn field_of_view(&self) -> f64 {
        FIELD_OF_VIEW * (1.0 - self.parallel)
    }

    /// True where the projection is parallel, or too near to it to be told apart.
    pub fn is_parallel(&self) -> bool {
        self.parallel > 0.99
    }

    /// Distance of the eye from the focus, m.
    pub fn distance(&self) -> f64 {
        if self.is_parallel() { PARALLEL_DISTANCE } else { self.height / 2.0 / (self.field_of_view() / 2.0).tan() }
    }

    /// Where `point` (W) falls in a picture of `size`; `None` behind the eye.
    pub fn project(&self, point: Point, size: [f64; 2]) -> Option<Projected> {
        let [right, up, back] = self.axes();
        let p = point - self.focus;
        let near = p.dot(&back);
        let shrink = if self.is_parallel() {
            1.0
        } else {
            let distance = self.distance();
            if near >= distance - 0.02 {
                return None;
            }
            distance / (distance - near)
        };
        let scale = size[1] / self.height * shrink;
        Some(Projected { at: [size[0] / 2.0 + p.dot(&right) * scale, size[1] / 2.0 - p.dot(&up) * scale], near })
    }

    /// What lies under a point of a picture of `size`: where the line of sight begins and its unit direction, W.
    pub fn ray(&self, at: [f64; 2], size: [f64; 2]) -> (Point, Point) {
        let [right, up, back] = self.axes();
        let metres = self.metres_per_unit(size);
        let beside = right * ((at[0] - size[0] / 2.0) * metres) + up * ((size[1] / 2.0 - at[1]) * metres);
        if self.is_parallel() {
            return (self.focus + beside + back * PARALLEL_DISTANCE, -back);
        }
        let from = self.focus + back * self.distance();
        (from, (self.focus + beside - from).normalize())
    }

    /// Metres a unit of the picture at the focus.
    pub fn metres_per_unit(&self, size: [f64; 2]) -> f64 {
        self.height / size[1].max(1.0)
    }

    /// Turned about the focus by a drag of (right, down) in the picture's unit.
    pub fn orbit(&mut self, drag: [f64; 2]) {
        // Half a turn over about 600 points: common practice, no published source.
        let per_unit = 0.0052;
        self.azimuth -= drag[0] * per_unit;
        self.elevation = (self.elevation + drag[1] * per_unit).clamp(deg(-90.0), deg(90.0));
    }

    /// Moved along the picture by a drag of (right, down) in the picture's unit.
    pub fn pan(&mut self, drag: [f64; 2], size: [f64; 2]) {
        let [right, up, _] = self.axes();
        let metres = self.metres_per_unit(size);
        self.focus += (up * drag[1] - right * drag[0]) * metres;
        self.focus = self.focus.map(|c| c.clamp(-10.0, 10.0));
    }

    /// Nearer (`factor` below 1) or farther, keeping what is under `pointer` there.
    pub fn zoom(&mut self, factor: f64, pointer: [f64; 2], size: [f64; 2]) {
        let height = (self.height * factor).clamp(0.05, 12.0);
        let [right, up, _] = self.axes();
        let metres = (self.height - height) / size[1].max(1.0);
        self.focus += right * ((pointer[0] - size[0] / 2.0) * metres) - up * ((pointer[1] - size[1] / 2.0) * metres);
        self.height = height;
    }

    /// The same direction, moved so that all of `bounds` is in the picture.
    #[must_use]
    pub fn fitted(mut self, bounds: &Bounds, aspect: f64) -> Self {
        // The picture's extent in units of its own height; a few rounds settle the perspective.
        for _ in 0..6 {
            let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
            for corner in bounds.points() {
                let Some(p) = self.project(corner, [aspect, 1.0]) else {
                    self.height *= 2.0;
                    continue;
                };
                for axis in 0..2 {
                    low[axis] = low[axis].min(p.at[axis]);
                    high[axis] = high[axis].max(p.at[axis]);
                }
            }
            if high[0] < low[0] {
                continue;
            }
            let [right, up, _] = self.axes();
            let off = [(low[0] + high[0] - aspect) / 2.0, (low[1] + high[1] - 1.0) / 2.0];
            self.focus += (right * off[0] - up * off[1]) * self.height;
            let fill = ((high[0] - low[0]) / aspect).max(high[1] - low[1]).max(1e-3);
            self.height = (self.height * fill * AIR).clamp(0.05, 12.0);
        }
        self
    }

    /// The place at `t` in [0, 1] on the way to `to`, smooth at both ends.
    #[must_use]
    pub fn towards(&self, to: &Self, t: f64) -> Self {
        let t = t.clamp(0.0, 1.0);
        let t = t * t * (3.0 - 2.0 * t);
        let mix = |a: f64, b: f64| a + (b - a) * t;
        // The short way round.
        let turn =
            (to.azimuth - self.azimuth + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
        Self {
            focus: self.focus + (to.focus - self.focus) * t,
            azimuth: self.azimuth + turn * t,
            elevation: mix(self.elevation, to.elevation),
            height: mix(self.height.ln(), to.height.ln()).exp(),
            parallel: mix(self.parallel, to.parallel),
        }
    }
}

/// What has to be in the picture: points of the hull of body and rig, W.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounds {
    points: Vec<Point>,
    /// The lowest and the highest corner of the box around all, not only the extreme points.
    extent: [Point; 2],
    /// Whether screens stand before the driver.
    screened: bool,
}

impl Default for Bounds {
    /// A rig of common size, while none is known.
    fn default() -> Self {
        Self::around([Point::new(0.0, -0.35, 0.0), Point::new(1.6, 0.35, 1.25)].iter())
    }
}

impl Bounds {
    /// Directions in which the extreme points are kept; enough that a fit is tight from every side.
    const DIRECTIONS: usize = 64;

    /// The extreme points among `points`; the default where there are none.
    pub fn around<'a>(points: impl Iterator<Item = &'a Point>) -> Self {
        let directions = Self::directions();
        let points: Vec<Point> = points.copied().collect();
        let mut best: Vec<(f64, Point)> = vec![(f64::MIN, Point::zeros()); Self::DIRECTIONS];
        let mut extent: Option<[Point; 2]> = None;
        // Neighbours in the list are mostly neighbours in space: where the box of some has nothing to offer, none has.
        for near in points.chunks(48) {
            let (low, high) = near.iter().fold((near[0], near[0]), |(low, high), p| (low.inf(p), high.sup(p)));
            extent = Some(extent.map_or([low, high], |[l, h]| [l.inf(&low), h.sup(&high)]));
            for (best, direction) in best.iter_mut().zip(&directions) {
                let most: f64 = (0..3).map(|i| (low[i] * direction[i]).max(high[i] * direction[i])).sum();
                if most <= best.0 {
                    continue;
                }
                for point in near {
                    let along = point.dot(direction);
                    if along > best.0 {
                        *best = (along, *point);
                    }
                }
            }
        }
        let points = best.into_iter().map(|(_, point)| point).collect();
        extent.map_or_else(Self::default, |extent| Self { points, extent, screened: false })
    }

    /// The same where screens stand before the driver, or none do.
    #[must_use]
    pub const fn screened(mut self, screened: bool) -> Self {
        self.screened = screened;
        self
    }

    /// Whether screens stand before the driver.
    pub const fn is_screened(&self) -> bool {
        self.screened
    }

    /// Even directions on a ball: a Fibonacci spiral.
    fn directions() -> Vec<Point> {
        let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
        (0..Self::DIRECTIONS)
            .map(|i| {
                let z = 1.0 - 2.0 * (i as f64 + 0.5) / Self::DIRECTIONS as f64;
                let (s, c) = (golden * i as f64).sin_cos();
                let r = (1.0 - z * z).sqrt();
                Point::new(r * c, r * s, z)
            })
            .collect()
    }

    /// The extreme points.
    pub fn points(&self) -> impl Iterator<Item = Point> + '_ {
        self.points.iter().copied()
    }

    /// Both together.
    #[must_use]
    pub fn with(mut self, other: &Self) -> Self {
        self.points.extend_from_slice(&other.points);
        self.extent = [self.extent[0].inf(&other.extent[0]), self.extent[1].sup(&other.extent[1])];
        self.screened |= other.screened;
        self
    }

    /// Whether the box around it, wider by `about` (m) on all sides, holds a point.
    pub fn holds(&self, point: Point, about: f64) -> bool {
        let [low, high] = self.extent;
        (0..3).all(|i| (low[i] - about..=high[i] + about).contains(&point[i]))
    }

    /// The lowest and the highest corner of the box around it.
    pub const fn extent(&self) -> [Point; 2] {
        self.extent
    }

    /// The middle of the box around it.
    pub fn centre(&self) -> Point {
        let [low, high] = self.extent;
        (low + high) / 2.0
    }
}

/// The eye of the window, and where it is flying to.
#[derive(Clone, Debug, Resource)]
pub struct View {
    /// Where it is now.
    pub eye: Eye,
    /// The standard view that it shows, if one.
    pub standard: Option<StandardView>,
    /// Body and rig.
    pub bounds: Bounds,
    /// What a fitted view has to hold beside them.
    beside: Option<Bounds>,
    /// The same for dimensions, which stand round them.
    dimensions: Option<(Elevation, Bounds)>,
    /// Width over height of the picture.
    pub aspect: f64,
    flight: Option<Flight>,
    fitted: bool,
}

#[derive(Clone, Debug)]
struct Flight {
    from: Eye,
    to: Eye,
    /// Set by the first frame that shows it: time stands still while nothing is drawn.
    started: Option<f64>,
}

impl Default for View {
    fn default() -> Self {
        let bounds = Bounds::default();
        let eye = Eye::standard(StandardView::ThreeQuarter, &bounds, 1.2);
        Self {
            eye,
            standard: Some(StandardView::ThreeQuarter),
            bounds,
            beside: None,
            dimensions: None,
            aspect: 1.2,
            flight: None,
            fitted: false,
        }
    }
}

impl View {
    /// Flies to a standard view.
    pub fn show(&mut self, view: StandardView) {
        self.standard = Some(view);
        self.fly(self.fitted_to(view));
    }

    /// Where a standard view of everything stands.
    pub fn fitted_to(&self, view: StandardView) -> Eye {
        Eye::standard(view, &self.all(), self.aspect)
    }

    /// All that a fitted view has to hold.
    pub fn all(&self) -> Bounds {
        let beside = self.beside.iter().chain(self.dimensions.as_ref().map(|(_, bounds)| bounds));
        beside.fold(self.bounds.clone(), Bounds::with)
    }

    /// Takes what has to be in the picture beside body and rig. Where such a thing comes or goes, a standard view that
    /// nobody has moved flies to where it holds everything.
    pub fn hold_beside(&mut self, beside: Option<Bounds>) {
        let changes = self.beside.is_some() != beside.is_some();
        self.beside = beside;
        if let Some(view) = self.standard.filter(|_| changes) {
            self.show(view);
        }
    }

    /// Whether dimensions stand round body and rig.
    pub const fn holds_dimensions(&self) -> bool {
        self.dimensions.is_some()
    }

    /// Takes where the dimensions of an elevation stand round body and rig. Where they come or go, a standard view that
    /// nobody has moved goes to where it holds them; it does not follow while they move.
    pub fn hold_dimensions(&mut self, dimensions: Option<(Elevation, Bounds)>) {
        let of = |held: &Option<(Elevation, Bounds)>| held.as_ref().map(|(elevation, _)| *elevation);
        let changes = of(&self.dimensions) != of(&dimensions);
        self.dimensions = dimensions;
        if let Some(view) = self.standard.filter(|_| changes) {
            let to = self.fitted_to(view);
            match &mut self.flight {
                Some(flight) => flight.to = to,
                None => self.fly(to),
            }
        }
    }

    /// Flies to a standard view of a part of what is there.
    pub fn show_part(&mut self, view: StandardView, part: &Bounds) {
        self.standard = None;
        self.fly(Eye::standard(view, part, self.aspect));
    }

    /// Flies to a view that was kept.
    pub fn go_to(&mut self, view: &SavedView) {
        self.standard = None;
        self.fly(Eye::of_kept(view));
    }

    /// Flies to a place, seen from where the eye stands.
    pub fn look_at(&mut self, focus: Point, height: f64) {
        self.standard = None;
        self.fly(Eye { focus, height, ..self.eye });
    }

    /// Takes what has to be in the picture; the first time the view fits itself to it.
    pub fn hold(&mut self, bounds: Bounds) {
        self.bounds = bounds;
        if !self.fitted {
            self.fitted = true;
            self.refit();
        }
    }

    /// Begins anew, as in a fresh window: the next thing to be shown is fitted into the first view.
    pub fn begin_anew(&mut self) {
        self.fitted = false;
        self.standard = Some(StandardView::ThreeQuarter);
    }

    /// Takes the shape of the picture; a standard view that nobody has moved keeps everything in it.
    pub fn reshape(&mut self, aspect: f64) {
        if (self.aspect - aspect).abs() > 1e-3 {
            self.aspect = aspect;
            self.refit();
        }
    }

    fn refit(&mut self) {
        if let Some(view) = self.standard {
            self.flight = None;
            self.eye = self.fitted_to(view);
        }
    }

    /// Where it stands, or will once it has arrived.
    #[cfg(test)]
    pub fn bound_for(&self) -> Eye {
        self.flight.as_ref().map_or(self.eye, |flight| flight.to)
    }

    /// Moves by hand: what was flying stops.
    pub fn take(&mut self) -> &mut Eye {
        self.flight = None;
        self.standard = None;
        &mut self.eye
    }

    /// True while it flies.
    pub const fn flies(&self) -> bool {
        self.flight.is_some()
    }

    fn fly(&mut self, to: Eye) {
        self.flight = Some(Flight { from: self.eye, to, started: None });
    }

    fn advance(&mut self, now: f64) {
        if let Some(flight) = &mut self.flight {
            let started = *flight.started.get_or_insert(now);
            let t = (now - started) / EASE;
            self.eye = if t >= 1.0 { flight.to } else { flight.from.towards(&flight.to, t) };
            if t >= 1.0 {
                self.flight = None;
            }
        }
    }
}

/// Moves the eye along its flight.
pub fn fly(mut view: ResMut<View>, time: Res<Time<Real>>) {
    if view.flies() {
        view.advance(time.elapsed_secs_f64());
    }
}

/// Puts the camera where the eye is.
pub fn place_camera(
    view: Res<View>,
    mut stage: ResMut<Stage>,
    camera: Single<(&mut Transform, &mut Projection), With<StageCamera>>,
    light: Single<(&mut Transform, &mut CascadeShadowConfig), (With<DirectionalLight>, Without<StageCamera>)>,
    mut placed: Local<Option<Eye>>,
) {
    if placed.replace(view.eye) == Some(view.eye) {
        return;
    }
    let eye = &view.eye;
    let [right, up, back] = eye.axes().map(bevy_from_world);
    let rotation = Quat::from_mat3(&Mat3::from_cols(right, up, back));
    let (mut transform, mut projection) = camera.into_inner();
    *transform = Transform {
        translation: bevy_from_world(eye.focus + eye.axes()[2] * eye.distance()),
        rotation,
        scale: Vec3::ONE,
    };
    *projection = if eye.is_parallel() {
        Projection::Orthographic(OrthographicProjection {
            near: 0.1,
            far: 2.0 * PARALLEL_DISTANCE as f32,
            scaling_mode: bevy::camera::ScalingMode::FixedVertical { viewport_height: eye.height as f32 },
            ..OrthographicProjection::default_3d()
        })
    } else {
        let fov = eye.field_of_view() as f32;
        Projection::Perspective(PerspectiveProjection {
            fov,
            near: (eye.distance() * 0.02).clamp(0.02, 1.0) as f32,
            far: 400.0,
            ..default()
        })
    };
    // The key light comes from the picture's upper left, wherever it is taken from: a turntable in a studio.
    let toward = right.cross(Vec3::Y);
    let key = -right * 0.60 + Vec3::Y * 1.15 + toward * 0.62;
    let (mut light, mut shadows) = light.into_inner();
    *light = Transform::from_translation(key).looking_at(Vec3::ZERO, Vec3::Y);
    // Only what is near the focus casts shadows, and all of the map's sharpness is spent on it.
    let depth = (eye.height * 1.5).clamp(1.5, 6.0);
    *shadows = CascadeShadowConfigBuilder {
        num_cascades: 1,
        minimum_distance: (eye.distance() - depth).max(0.05) as f32,
        maximum_distance: (eye.distance() + depth) as f32,
        ..default()
    }
    .build();
    stage.redraw();
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "signs are compared")]
mod tests {
    use super::*;
    use crate::{
        geometry::{Solid, TaperedCapsule, between},
        posture::Moment,
        project::load,
        study,
    };

    #[test]
    fn parallel_views_show_forward_to_the_left_and_up_above() {
        let size = [800.0, 600.0];
        let at = |view, point: [f64; 3]| {
            let eye = Eye { focus: Point::zeros(), ..Eye::standard(view, &Bounds::default(), 4.0 / 3.0) };
            let origin = eye.project(Point::zeros(), size).unwrap().at;
            let p = eye.project(Point::from(point), size).unwrap().at;
            [p[0] - origin[0], p[1] - origin[1]].map(|v| if v.abs() < 1e-9 { 0.0 } else { v.signum() })
        };
        // Frames of ISO 8855: x forward, y left, z up; the picture's y runs down.
        assert_eq!(at(StandardView::Side, [1.0, 0.0, 0.0]), [-1.0, 0.0]);
        assert_eq!(at(StandardView::Side, [0.0, 0.0, 1.0]), [0.0, -1.0]);
        assert_eq!(at(StandardView::Top, [1.0, 0.0, 0.0]), [-1.0, 0.0]);
        assert_eq!(at(StandardView::Top, [0.0, 1.0, 0.0]), [0.0, 1.0]);
        assert_eq!(at(StandardView::Front, [0.0, 1.0, 0.0]), [1.0, 0.0]);
        assert_eq!(at(StandardView::Front, [0.0, 0.0, 1.0]), [0.0, -1.0]);
    }

    #[test]
    fn a_line_of_sight_leads_to_what_is_seen_there() {
        let size = [900.0, 600.0];
        for view in StandardView::ALL {
            let eye = Eye::standard(view, &Bounds::default(), 1.5);
            for point in [Point::new(0.2, -0.3, 0.4), Point::new(1.1, 0.25, 0.9)] {
                let (from, way) = eye.ray(eye.project(point, size).unwrap().at, size);
                assert!((point - from).cross(&way).norm() < 1e-9, "{view:?}");
                assert!((point - from).dot(&way) > 0.0 && (way.norm() - 1.0).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn a_parallel_view_keeps_lengths_at_any_depth() {
        let eye = Eye::standard(StandardView::Side, &Bounds::default(), 1.5);
        let size = [900.0, 600.0];
        let length = |y: f64| {
            let a = eye.project(Point::new(0.2, y, 0.3), size).unwrap().at;
            let b = eye.project(Point::new(0.7, y, 0.3), size).unwrap().at;
            (a[0] - b[0]).abs()
        };
        assert!((length(-0.4) - length(0.4)).abs() < 1e-9);
        assert!((length(0.0) * eye.metres_per_unit(size) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn every_point_of_what_is_shown_is_in_the_picture() {
        let corners: Vec<Point> = (0..8)
            .map(|i| {
                Point::new(
                    if i & 1 == 0 { -0.3 } else { 1.7 },
                    if i & 2 == 0 { -0.4 } else { 0.4 },
                    if i & 4 == 0 { 0.0 } else { 1.3 },
                )
            })
            .collect();
        let bounds = Bounds::around(corners.iter());
        for view in StandardView::ALL {
            for aspect in [0.6, 1.0, 1.8] {
                let eye = Eye::standard(view, &bounds, aspect);
                for corner in &corners {
                    let at = eye.project(*corner, [aspect, 1.0]).unwrap().at;
                    assert!(
                        (0.0..=aspect).contains(&at[0]) && (0.0..=1.0).contains(&at[1]),
                        "{view:?} {aspect} {at:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn screens_do_not_hide_the_driver() {
        for demo in ["club_rig.ron", "open_day.ron"] {
            let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(demo);
            let study = study::check(&load(&path).unwrap().0);
            let bones = study.solved.posture_at(&Moment::REST).bones().map(|pose| pose.translation.vector);
            let screens = &study.solved.rig.screens.as_ref().expect("it has screens").solids;
            let hidden = |screened: bool| {
                let bounds = Bounds::around(bones.iter()).screened(screened);
                let eye = Eye::standard(StandardView::ThreeQuarter, &bounds, 1.2);
                let from = eye.focus + eye.axes()[2] * eye.distance();
                let is_hidden = |to: &&Point| {
                    let sight = Solid::Capsule(TaperedCapsule { a: from, b: **to, radius_a: 1e-4, radius_b: 1e-4 });
                    screens.iter().any(|(_, screen)| between(&sight, &Solid::Box(*screen), 1.0).gap <= 0.0)
                };
                bones.iter().filter(is_hidden).count()
            };
            assert!(hidden(false) > 3, "{demo}: from ahead they would");
            assert_eq!(hidden(true), 0, "{demo}");
        }
    }

    #[test]
    fn zoom_keeps_what_is_under_the_pointer() {
        let size = [900.0, 600.0];
        let pointer = [700.0, 120.0];
        let mut eye = Eye::standard(StandardView::Side, &Bounds::default(), 1.5);
        let under = |eye: &Eye| {
            let [right, up, _] = eye.axes();
            let metres = eye.metres_per_unit(size);
            eye.focus + right * ((pointer[0] - 450.0) * metres) - up * ((pointer[1] - 300.0) * metres)
        };
        let before = under(&eye);
        eye.zoom(0.7, pointer, size);
        assert!((under(&eye) - before).norm() < 1e-12);
    }
}
