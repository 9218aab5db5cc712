//! What the pointer does in the view: look round, move parts, work wheel and pedals, measure.

pub mod draw;
pub mod pick;

use std::{collections::BTreeSet, sync::Arc};

use bevy::prelude::*;
use bevy_egui::egui::{self, Pos2, Vec2};

use super::{camera::Eye, keys::nudge_mm, overlay::Pane, scene::area};
use crate::{
    geometry::Vec3 as Point,
    posture::Moment,
    project::{Checked, PedalKind, Project, RailEnd, attach, detach, nearest_slot_for_end, snap_rail},
    rig::{Carried, Handle, Rig, Way, carry, ways},
    study::Study,
    units::{Unit, mm_point},
};
use pick::{Owner, Standing};

/// What a drag in the view is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tool {
    /// Turns the view; a click chooses.
    #[default]
    Look,
    /// Moves the part under the pointer.
    Move,
    /// Turns the wheel and presses pedals.
    Drive,
    /// Measures from point to point.
    Measure,
}

impl Tool {
    /// All of them, in the order in which they stand.
    pub const ALL: [Self; 4] = [Self::Look, Self::Move, Self::Drive, Self::Measure];

    /// The word on its button.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Look => "Look",
            Self::Move => "Move",
            Self::Drive => "Drive",
            Self::Measure => "Measure",
        }
    }

    /// Its key.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Look => "L",
            Self::Move => "M",
            Self::Drive => "D",
            Self::Measure => "T",
        }
    }

    /// What to do with it.
    pub fn hint(self) -> String {
        match self {
            Self::Look => "Drag to turn the view, click a part or a finding".to_owned(),
            Self::Move => {
                let by = |steps: f64| Unit::Millimetre.show(nudge_mm() * steps);
                format!(
                    "Drag a part or an arrow, a rail or its end onto a slot; Alt passes over sliders, detents and slots; arrow keys nudge by {}, with Shift by {}",
                    by(1.0),
                    by(10.0)
                )
            }
            Self::Drive => "Drag the rim or a pedal".to_owned(),
            Self::Measure => "Click one point, then another; Esc clears".to_owned(),
        }
    }
}

/// What is chosen on the stage and what is hidden there: it is drawn anew when this changes.
#[derive(Clone, Debug, Default, PartialEq, Resource)]
pub struct Choice {
    /// The part in hand.
    pub held: Option<Handle>,
    /// Parts that are not drawn.
    pub hidden: BTreeSet<Handle>,
    /// Whether the driver is not drawn.
    pub no_driver: bool,
    /// Where the stage is cut, if it is: what lies beyond, along the axis, is not drawn.
    pub cut: Option<Cut>,
}

/// A plane that cuts what is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Across which axis of W: 0 forward, 1 left, 2 up.
    pub axis: usize,
    /// Where along it, m.
    pub at: f64,
}

impl Cut {
    /// The axes' words, in their order.
    pub const WORDS: [&str; 3] = ["across", "lengthwise", "level"];
}

impl Choice {
    /// Hides all parts but one, and the driver.
    pub fn isolate(&mut self, keep: Handle, project: &Project) {
        self.hidden = all(project).into_iter().filter(|handle| *handle != keep).collect();
        self.no_driver = true;
    }

    /// Shows everything again.
    pub fn show_all(&mut self) {
        self.hidden.clear();
        self.no_driver = false;
        self.cut = None;
    }

    /// True where something is not drawn.
    pub fn hides(&self) -> bool {
        self.no_driver || self.cut.is_some() || !self.hidden.is_empty()
    }
}

/// Every part of a project that can be taken as a whole.
fn all(project: &Project) -> Vec<Handle> {
    let mut out = vec![Handle::Seat, Handle::Wheel, Handle::PedalSet];
    out.extend(project.pedals.pedals.iter().map(|pedal| Handle::Pedal(pedal.kind)));
    out.extend((0..project.frame.len()).map(Handle::Rail));
    out.extend((0..project.controls.len()).map(Handle::Control));
    out.extend((0..project.shapes.len()).map(Handle::Shape));
    out.extend(project.screens.is_some().then_some(Handle::Screens));
    out
}

/// The part that is being moved, as it stood before: drawn as a veil.
#[derive(Debug, Default, Resource)]
pub struct Was(pub Option<(Handle, Arc<Study>)>);

/// A point on something, as it is measured from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// W, m.
    pub at: Point,
    /// Whether it is a corner.
    pub corner: bool,
}

/// The pointer's tool and what it is doing.
#[derive(Debug, Default, Resource)]
pub struct Hand {
    /// Which one.
    pub tool: Tool,
    /// What lies under the pointer.
    pub over: Option<Owner>,
    /// What it drags.
    drag: Option<Drag>,
    /// Points clicked to measure between, two and two.
    pub marks: Vec<Mark>,
    /// Where a click would measure from.
    pub near: Option<Mark>,
    /// How the part goes that is in hand, for the arrows.
    pub arrows: Vec<Arrow>,
    /// The part and the study that they are of.
    arrows_of: Option<(Handle, Arc<Study>)>,
    /// What the drag has done, in words.
    pub told: Option<String>,
    /// Where the dragged rail has caught: the rail that carries it then, and the end that hangs there, W.
    pub caught: Vec<(String, Point)>,
}

/// An arrow at the part in hand along which it goes.
#[derive(Clone, Debug)]
pub struct Arrow {
    /// The way.
    pub way: Way,
    /// Its foot, W.
    pub at: Point,
    /// Of the whole part, or of one end of a rail.
    pub handle: Handle,
}

#[derive(Debug)]
enum Drag {
    Part(Box<PartDrag>),
    /// The wheel: the pointer's angle round its centre when it was last seen, rad.
    Rim(f64),
    /// A pedal: its travel when it was pressed, m, and how the screen moves with a metre of it, points.
    Pedal {
        kind: PedalKind,
        from: f64,
        along: Vec2,
        pressed: Pos2,
    },
}

#[derive(Debug)]
struct PartDrag {
    handle: Handle,
    project: Checked,
    ways: Vec<Way>,
    /// The same for going freely: an end of a rail is then taken off what carries it.
    free: Checked,
    free_ways: Vec<Way>,
    /// Where it was taken, W.
    taken: Point,
    /// What the pointer glides on: bound to its ways, and freely.
    glide: Glide,
    free_glide: Glide,
}

/// On what a point under the pointer is followed.
#[derive(Clone, Copy, Debug)]
enum Glide {
    /// A plane with this normal.
    Plane(Point),
    /// A line along this direction.
    Line(Point),
}

impl Glide {
    /// The plane in which a part is moved from where the eye stands: the picture's in a standard view, else the upright
    /// one along the rig.
    fn of(eye: &Eye) -> Self {
        let [_, _, back] = eye.axes();
        if eye.is_parallel() {
            return Self::Plane(back);
        }
        // Seen nearly from above or along the rig, that plane would run away under the pointer.
        let normals = [Point::y(), Point::z(), Point::x()];
        let open = |normal: &Point| normal.dot(&back).abs();
        Self::Plane(*normals.iter().find(|normal| open(normal) > 0.35).unwrap_or(&normals[0]))
    }

    /// Where a line of sight meets it, seen from `through`.
    fn meet(self, (from, way): (Point, Point), through: Point) -> Option<Point> {
        match self {
            Self::Plane(normal) => {
                let down = way.dot(&normal);
                if down.abs() < 0.02 {
                    return None;
                }
                Some(from + way * ((through - from).dot(&normal) / down))
            }
            Self::Line(along) => {
                // The point of the line nearest to the line of sight.
                let along = along.normalize();
                let w = through - from;
                let (b, d, e) = (along.dot(&way), along.dot(&w), way.dot(&w));
                let bend = 1.0 - b * b;
                (bend > 1e-3).then(|| through + along * ((b * e - d) / bend))
            }
        }
    }
}

/// What a frame of the pointer asks for.
#[derive(Debug, Default)]
pub struct Done {
    /// The pointer is busy: the view stays as it is.
    pub busy: bool,
    /// A project with the part moved.
    pub project: Option<Box<Project>>,
    /// Where wheel and pedals are to stand.
    pub moment: Option<Moment>,
    /// The drag has begun with this part.
    pub begun: Option<Handle>,
    /// The drag has ended.
    pub ended: bool,
}

/// How near the pointer must come to an arrow, points.
const NEAR: f32 = 9.0;
/// How near to a corner a measured point goes there, points.
const CORNER: f32 = 8.0;

impl Hand {
    /// True while something is dragged.
    pub const fn drags(&self) -> bool {
        self.drag.is_some()
    }

    /// Takes up another tool.
    pub fn take(&mut self, tool: Tool) {
        self.tool = tool;
        self.drag = None;
        self.near = None;
        self.told = None;
        self.caught.clear();
    }

    /// The arrows of the part in hand.
    pub fn ready(&mut self, choice: &Choice, study: &Arc<Study>) {
        let held = choice.held.filter(|_| self.tool == Tool::Move);
        // To ask how a part goes takes several placed rigs: once a study, not once a frame.
        let same = |(handle, of): &(Handle, Arc<Study>)| Some(*handle) == held && Arc::ptr_eq(of, study);
        if held.is_some() && self.arrows_of.as_ref().is_some_and(same) {
            return;
        }
        self.arrows.clear();
        self.arrows_of = held.map(|held| (held, study.clone()));
        let Some(held) = held else { return };
        let rig = &study.solved.rig;
        let mut handles = vec![held];
        if let Handle::Rail(index) = held {
            handles.extend(RailEnd::BOTH.map(|end| Handle::RailEnd(index, end)));
        }
        for handle in handles {
            let Some(at) = handle.anchor(rig) else { continue };
            let list = ways(&study.solved.project, handle, false);
            self.arrows.extend(list.into_iter().map(|way| Arrow { way, at, handle }));
        }
    }

    /// What the pointer does with its tool in this frame.
    pub fn work(
        &mut self,
        ui: &egui::Ui,
        response: &egui::Response,
        pane: &Pane,
        standing: &Standing,
        (study, good): (&Study, &Project),
        moment: &Moment,
    ) -> Done {
        let mut done = Done::default();
        let sight = |at: Pos2| {
            let on = at - pane.rect.min;
            pane.eye.ray([f64::from(on.x), f64::from(on.y)], area(pane.rect))
        };
        if self.drag.is_none() {
            self.over = None;
            self.near = None;
        }
        let pointer = response.hover_pos().filter(|at| pane.rect.contains(*at));
        let held_down = ui.input(|input| input.pointer.any_down());
        if self.drag.is_none()
            && !held_down
            && let Some(hit) = pointer.and_then(|at| standing.under(sight(at)))
        {
            self.over = Some(hit.owner);
            if self.tool == Tool::Measure {
                self.near = Some(mark_of(&hit, pane, pointer));
            }
        }

        if response.drag_started_by(egui::PointerButton::Primary)
            && let Some(at) = ui.input(|input| input.pointer.press_origin())
        {
            self.drag = self.begin(at, sight(at), pane, standing, (study, good), moment);
            if let Some(Drag::Part(part)) = &self.drag {
                done.begun = Some(part.handle);
            }
        }
        let now = response.interact_pointer_pos().or(pointer);
        let dragged = response.dragged_by(egui::PointerButton::Primary);
        if let (Some(drag), true, Some(now)) = (&mut self.drag, dragged, now) {
            done.busy = true;
            match drag {
                Drag::Part(part) => {
                    let freely = ui.input(|input| input.modifiers.alt) && !part.free_ways.is_empty();
                    let glide = if freely { part.free_glide } else { part.glide };
                    if let Some(to) = glide.meet(sight(now), part.taken) {
                        let (project, list) =
                            if freely { (&part.free, &part.free_ways) } else { (&part.project, &part.ways) };
                        let carried = carry(project, list, to - part.taken);
                        let mut told = draw::carried_words(part.handle, project, &carried, list);
                        let Carried { mut project, by, .. } = carried;
                        if freely {
                            self.caught.clear();
                        } else {
                            let hung = hang(&mut project, part.handle);
                            told.extend(hung.iter().map(|(on, _)| format!(" · on {on}")));
                            if hung.is_empty() && by.norm() < 1e-4 && (to - part.taken).norm() > 0.02 {
                                let on: Vec<&str> = holders(&project, part.handle).collect();
                                if !on.is_empty() {
                                    told.push_str(&format!(" · hangs on {}, Alt takes it off", on.join(" and ")));
                                }
                            }
                            self.caught = hung;
                        }
                        self.told = Some(told);
                        done.project = Some(Box::new(project));
                    }
                }
                Drag::Rim(last) => {
                    if let Some(angle) = rim_angle(&study.solved.rig, sight(now)) {
                        // The short way round, from where it was seen last.
                        let turn = (angle - *last + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU)
                            - std::f64::consts::PI;
                        *last = angle;
                        let lock = study.solved.rig.wheel.lock;
                        let steer = (moment.steer + turn).clamp(-lock, lock);
                        done.moment = Some(Moment { steer, ..*moment });
                    }
                }
                Drag::Pedal { kind, from, along, pressed } => {
                    let most = study.solved.rig.pedals.get(*kind).map_or(0.0, |pedal| pedal.travel);
                    let by = f64::from((now - *pressed).dot(*along) / along.length_sq().max(1.0));
                    done.moment = Some(moment.with_travel(*kind, (*from + by).clamp(0.0, most)));
                }
            }
        }
        if self.drag.is_some() && !dragged && !response.drag_started() {
            done.ended = matches!(self.drag, Some(Drag::Part(_)));
            self.drag = None;
            self.told = None;
            self.caught.clear();
        }
        if self.tool == Tool::Measure
            && response.clicked()
            && let Some(mark) = self.near
        {
            self.marks.push(mark);
        }
        done
    }

    fn begin(
        &self,
        at: Pos2,
        sight: (Point, Point),
        pane: &Pane,
        standing: &Standing,
        (study, good): (&Study, &Project),
        moment: &Moment,
    ) -> Option<Drag> {
        let rig = &study.solved.rig;
        match self.tool {
            Tool::Look | Tool::Measure => None,
            Tool::Move => {
                let arrow = draw::arrow_at(&self.arrows, pane, at, NEAR);
                let (handle, taken, glide) = if let Some(knob) = draw::knob_at(&self.arrows, pane, at) {
                    (knob.handle, knob.at, Glide::of(&pane.eye))
                } else if let Some(arrow) = arrow {
                    let taken = Glide::Line(arrow.way.rate).meet(sight, arrow.at)?;
                    (arrow.handle, taken, Glide::Line(arrow.way.rate))
                } else {
                    let hit = standing.under(sight)?;
                    let handle = match hit.owner {
                        Owner::Part(part) => Handle::of(part, rig)?,
                        // Who sits there moves with the seat.
                        Owner::Driver => Handle::Seat,
                    };
                    (handle, hit.at, Glide::of(&pane.eye))
                };
                // The study may lag behind the last edit.
                let project = Checked::new(good.clone()).ok()?;
                let mut list = ways(&project, handle, false);
                let free = taken_off(&project, handle);
                let mut free_ways = ways(&free, handle, true);
                if let Glide::Line(along) = glide {
                    // One arrow, one number.
                    let along = along.normalize();
                    let same = |way: &Way| way.rate.normalize().dot(&along).abs() > 0.99;
                    list.retain(same);
                    free_ways.retain(same);
                }
                // What goes one way only follows the pointer along it, from wherever it is seen.
                let free_glide = glide;
                let glide = if let [only] = &list[..] { Glide::Line(only.rate) } else { glide };
                let drag = PartDrag { handle, project, ways: list, free, free_ways, taken, glide, free_glide };
                Some(Drag::Part(Box::new(drag)))
            }
            Tool::Drive => {
                let hit = standing.under(sight)?;
                let Owner::Part(part) = hit.owner else { return None };
                match Handle::of(part, rig)? {
                    Handle::Wheel => Some(Drag::Rim(rim_angle(rig, sight)?)),
                    Handle::Pedal(kind) => {
                        let pedal = rig.pedals.get(kind)?;
                        let travel = moment.travel_of(kind);
                        let face = |travel: f64| pane.at(pedal.face_pose(&rig.pedals, travel).translation.vector);
                        let along = (face(pedal.travel)? - face(0.0)?) / pedal.travel.max(1e-3) as f32;
                        Some(Drag::Pedal { kind, from: travel, along, pressed: at })
                    }
                    _ => None,
                }
            }
        }
    }
}

/// How near to a slot an end of a rail must come to be hung there, mm: own choice, so that one on a face between two
/// slots, some 20 mm from either, still catches.
const SNAP: f64 = 30.0;

/// Hangs a rail, or an end of one, on the slots that it has come near to: which rails carry it then, and where.
fn hang(project: &mut Project, handle: Handle) -> Vec<(String, Point)> {
    let (index, ends) = match handle {
        Handle::Rail(index) => {
            let hung = snap_rail(&mut project.frame, index, SNAP);
            (index, hung.into_iter().map(|hung| (hung.end, hung.on.rail)).collect())
        }
        Handle::RailEnd(index, end) => (index, snap(project, index, end).map(|on| (end, on)).into_iter().collect()),
        _ => return Vec::new(),
    };
    let ends: Vec<(RailEnd, String)> = ends;
    let Some(rail) = project.frame.get(index) else { return Vec::new() };
    let place = |end| mm_point(if end == RailEnd::From { rail.from_mm } else { rail.to_mm });
    ends.into_iter().map(|(end, on)| (on, place(end))).collect()
}

/// The rails on which a rail, or an end of one, hangs.
fn holders(project: &Project, handle: Handle) -> impl Iterator<Item = &str> {
    let (index, ends) = match handle {
        Handle::Rail(index) => (index, [true, true]),
        Handle::RailEnd(index, end) => (index, [end == RailEnd::From, end == RailEnd::To]),
        _ => (usize::MAX, [false, false]),
    };
    let rail = project.frame.get(index);
    let on = rail.into_iter().flat_map(|rail| [rail.from_on.as_ref(), rail.to_on.as_ref()]);
    on.zip(ends).filter(|(_, asked)| *asked).filter_map(|(on, _)| on).map(|on| on.rail.as_str())
}

/// Hangs a free end of a rail on the slot that it has come near to; the name of the rail that carries it then.
fn snap(project: &mut Project, rail: usize, end: RailEnd) -> Option<String> {
    let own = project.frame.get(rail)?;
    let (on, at) = match end {
        RailEnd::From => (&own.from_on, own.from_mm),
        RailEnd::To => (&own.to_on, own.to_mm),
    };
    if on.is_some() {
        return None;
    }
    let found = nearest_slot_for_end(&project.frame, rail, end, at, SNAP)?;
    let carrier = found.attachment.rail.clone();
    attach(&mut project.frame, rail, end, found.attachment).ok()?;
    Some(carrier)
}

/// The project with an end of a rail, or both of a whole one, taken off what carries it; the same where nothing does.
fn taken_off(project: &Checked, handle: Handle) -> Checked {
    let (rail, ends) = match &handle {
        Handle::RailEnd(rail, end) => (*rail, std::slice::from_ref(end)),
        Handle::Rail(rail) => (*rail, &RailEnd::BOTH[..]),
        _ => return project.clone(),
    };
    let mut free: Project = (**project).clone();
    for end in ends {
        detach(&mut free.frame, rail, *end);
    }
    Checked::new(free).unwrap_or_else(|_| project.clone())
}

/// Where a line of sight meets the wheel's plane, as an angle round its shaft, rad, left turn positive.
fn rim_angle(rig: &Rig, sight: (Point, Point)) -> Option<f64> {
    let pose = &rig.wheel.X_WR;
    let centre = pose.translation.vector;
    let [left, up] = [Point::y(), Point::z()].map(|axis| pose.rotation * axis);
    let met = Glide::Plane(pose.rotation * Point::x()).meet(sight, centre)? - centre;
    // Anticlockwise as the driver sees it: from up towards the left.
    Some(met.dot(&left).atan2(met.dot(&up)))
}

/// The point that a click measures from: a corner where one is near.
fn mark_of(hit: &pick::Hit, pane: &Pane, pointer: Option<Pos2>) -> Mark {
    let near = |corner: &Point| Some(pane.at(*corner)?.distance(pointer?));
    let corner = hit
        .corners
        .iter()
        .filter_map(|corner| Some((corner, near(corner)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, off)| *off < CORNER);
    corner.map_or(Mark { at: hit.at, corner: false }, |(corner, _)| Mark { at: *corner, corner: true })
}

/// Which way an arrow key moves the part in hand: the way that goes most along a direction of the picture.
pub fn nudged(project: &Project, held: Handle, toward: Point, by_mm: f64) -> Option<Project> {
    let project = Checked::new(project.clone()).ok()?;
    let list = ways(&project, held, false);
    let best = list.into_iter().max_by(|a, b| a.rate.dot(&toward).abs().total_cmp(&b.rate.dot(&toward).abs()))?;
    let step = if best.step > 0.0 { best.step } else { by_mm };
    let way = best.rate * step * best.rate.dot(&toward).signum();
    Some(carry(&project, &[best], way).project)
}

/// A project without a part, where it can do without.
pub fn without(project: &Project, held: Handle) -> Option<Project> {
    let mut project = project.clone();
    match held {
        Handle::Control(index) if index < project.controls.len() => {
            project.controls.remove(index);
        }
        Handle::Shape(index) if index < project.shapes.len() => {
            project.remove_shape(index);
        }
        Handle::Rail(index) if index < project.frame.len() => {
            project.remove_rail(index);
        }
        Handle::Pedal(kind) if project.pedals.pedals.len() > 2 && kind == PedalKind::Clutch => {
            project.pedals.pedals.retain(|pedal| pedal.kind != kind);
        }
        _ => return None,
    }
    Some(project)
}

/// Whether there can be a second one of a part, or its mirror image.
pub const fn repeats(held: Handle, mirrored: bool) -> bool {
    match held {
        Handle::Rail(_) | Handle::RailEnd(..) | Handle::Control(_) => true,
        Handle::Shape(_) => !mirrored,
        _ => false,
    }
}

/// A project with a second one of a part beside it, and that one, where there can be several.
pub fn copied(project: &Project, held: Handle) -> Option<(Project, Handle)> {
    again(project, held, false)
}

/// A project with the mirror image of a part across the middle plane, and that one.
pub fn mirrored(project: &Project, held: Handle) -> Option<(Project, Handle)> {
    again(project, held, true)
}

/// How far a copied control or part stands from the one that it copies, mm: own choice.
const BESIDE: f64 = 60.0;

fn again(project: &Project, held: Handle, mirrored: bool) -> Option<(Project, Handle)> {
    if !repeats(held, mirrored) {
        return None;
    }
    let mut project = project.clone();
    let free = |taken: &[String], name: &str| {
        let mut numbered = (2..taken.len() + 3).map(|number| format!("{name} {number}"));
        numbered.find(|name| !taken.contains(name)).unwrap_or_default()
    };
    match held {
        Handle::Rail(index) | Handle::RailEnd(index, _) => {
            project.frame.get(index)?;
            if mirrored {
                project.mirror_rail(index);
            } else {
                project.copy_rail(index);
            }
            let last = project.frame.len() - 1;
            Some((project, Handle::Rail(last)))
        }
        Handle::Control(index) => {
            let mut control = project.controls.get(index)?.clone();
            let taken: Vec<String> = project.controls.iter().map(|control| control.name.clone()).collect();
            control.name = free(&taken, &control.name);
            if mirrored {
                control.at_mm[1] = -control.at_mm[1];
                control.hand = control.hand.other();
            } else {
                control.at_mm[0] += BESIDE;
            }
            project.controls.push(control);
            let last = project.controls.len() - 1;
            Some((project, Handle::Control(last)))
        }
        Handle::Shape(index) => {
            let mut shape = project.shapes.get(index)?.clone();
            let taken: Vec<String> = project.shapes.iter().map(|shape| shape.name.clone()).collect();
            shape.name = free(&taken, &shape.name);
            shape.at_mm[0] += BESIDE;
            project.shapes.push(shape);
            let last = project.shapes.len() - 1;
            Some((project, Handle::Shape(last)))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nudges_add_up_and_go_where_the_key_points() {
        let project = crate::project::parse(include_str!("../../../assets/closed_car.ron")).unwrap().into_inner();
        let once = nudged(&project, Handle::Wheel, Point::new(0.1, 0.0, 1.0), 10.0).unwrap();
        let twice = nudged(&once, Handle::Wheel, Point::new(0.1, 0.0, 1.0), 10.0).unwrap();
        let by: Vec<f64> = (0..3).map(|axis| twice.wheel.centre_mm[axis] - project.wheel.centre_mm[axis]).collect();
        assert!(by[0].abs() < 1e-9 && by[1].abs() < 1e-9 && (by[2] - 20.0).abs() < 1e-9, "{by:?}");
    }

    #[test]
    fn a_mirrored_control_is_for_the_other_hand_and_a_copy_has_a_name_of_its_own() {
        let project = crate::project::parse(include_str!("../../../assets/closed_car.ron")).unwrap().into_inner();
        let first = &project.controls[0];
        let (image, held) = mirrored(&project, Handle::Control(0)).unwrap();
        let other = image.controls.last().unwrap();
        assert_eq!(held, Handle::Control(project.controls.len()));
        assert!((other.at_mm[1] + first.at_mm[1]).abs() < 1e-12 && other.hand != first.hand);
        let (twice, _) = copied(&image, Handle::Control(0)).unwrap();
        assert!(Checked::new(twice).is_ok(), "every name is its own");
        assert!(copied(&project, Handle::Seat).is_none(), "there is one seat");
    }

    #[test]
    fn each_knob_of_a_rail_takes_hold_of_its_own_place() {
        use crate::viewer::camera::{Bounds, StandardView};
        let project = crate::project::parse(include_str!("../../../assets/closed_car.ron")).unwrap();
        let study = Arc::new(crate::study::check(&project));
        let rail = (0..project.frame.len()).find(|index| project.frame[*index].name == "left base").unwrap();
        let mut hand = Hand { tool: Tool::Move, ..Hand::default() };
        hand.ready(&Choice { held: Some(Handle::Rail(rail)), ..Choice::default() }, &study);
        let rect = egui::Rect::from_min_size(Pos2::ZERO, Vec2::new(840.0, 640.0));
        let pane = Pane::open(rect, Eye::standard(StandardView::Side, &Bounds::default(), 840.0 / 640.0));
        // The ends as the file has them, and the middle between them.
        let [from, to] = [project.frame[rail].from_mm, project.frame[rail].to_mm].map(mm_point);
        for (handle, at) in [
            (Handle::RailEnd(rail, RailEnd::From), from),
            (Handle::RailEnd(rail, RailEnd::To), to),
            (Handle::Rail(rail), (from + to) / 2.0),
        ] {
            let knob = pane.at(at).unwrap() + Vec2::new(3.0, -2.0);
            assert_eq!(draw::knob_at(&hand.arrows, &pane, knob).map(|arrow| arrow.handle), Some(handle));
            // Further out it is an arrow's place, and farther yet the rail's own.
            assert!(draw::knob_at(&hand.arrows, &pane, knob + Vec2::new(0.0, -30.0)).is_none());
        }
    }

    #[test]
    fn a_point_glides_on_its_line_and_its_plane() {
        // From 2 m in front of the origin, looking at the point (0, 0.3, 0.4) of the plane x = 0.
        let from = Point::new(2.0, 0.0, 0.0);
        let sight = (from, (Point::new(0.0, 0.3, 0.4) - from).normalize());
        let met = Glide::Plane(Point::x()).meet(sight, Point::zeros()).unwrap();
        assert!((met - Point::new(0.0, 0.3, 0.4)).norm() < 1e-12);
        // The point of the z axis nearest to that line, by hand: the line is (2 − 2t, 0.3t, 0.4t); its distance from the
        // axis is least where −2(2 − 2t) + 0.09t = 0, t = 4/4.09, so z = 1.6/4.09.
        let met = Glide::Line(Point::z()).meet(sight, Point::zeros()).unwrap();
        assert!((met - Point::new(0.0, 0.0, 1.6 / 4.09)).norm() < 1e-12, "{met:?}");
        // Looked at along, a line says nothing.
        assert!(Glide::Line(sight.1).meet(sight, Point::zeros()).is_none());
    }
}
