//! From what was written to what can be computed with: ranges, contradictions, likely slips of unit.

use std::{f64::consts::FRAC_PI_2, ops::Deref, sync::OnceLock};

use super::{
    BackAngle, BandOverride, Contradiction, Fault, FaultKind, Pedal, PedalKind, PedalSet, Project, Rail, Rim,
    ScreenKind, ScreenPlace, ScreenStand, Seat, Slip, VERSION, Wheel, band_ids,
    fault::{NonFinite, digits_changed_back, near, nearest, on_one_line, plain, tenth},
    fields,
    fields::{can_be_adjusted, fields_of_page, page_of_adjustable},
    rail::{Astray, UNWRITTEN, attach_all},
    sections,
};
use crate::{geometry::Side, units::Unit};

/// Rails, and controls, that a project may have.
const PARTS: usize = 200;
/// Drivers that a project may have beside the one who sits.
const OTHERS: usize = 20;
/// Characters of a name.
const NAME: usize = 80;
/// Angle between cushion and back at which somebody can sit, degrees.
const CUSHION_TO_BACK: std::ops::RangeInclusive<f64> = 60.0..=150.0;
/// How far the middle of an attached end may stand beyond the rail that carries it, mm.
const OVERHANG: f64 = 160.0;
/// The shortest arm of a pedal, mm.
const ARM: f64 = 5.0;

/// A project whose every number is finite and in range and whose parts do not contradict one another.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked(Project);

impl Checked {
    /// Checks a project.
    ///
    /// # Errors
    /// Every fault found, not only the first; without line and column, which only a file has. A contradiction is
    /// looked for only between numbers that are each in range, so that one slip is one fault. Of more parts than
    /// the program takes, only as many are looked at.
    pub fn new(project: Project) -> Result<Self, Vec<Fault>> {
        let mut project = project;
        let mut check = Check::default();
        check.version(&project);
        check.names(&project);
        check.surplus(&mut project);
        check.adjusters(&mut project);
        check.numbers(&mut project);
        check.measured(&project);
        check.seat(&project.seat);
        check.wheel(&project);
        check.pedals(&project);
        check.frame(&mut project.frame);
        check.controls(&project);
        check.shapes(&project);
        check.screens(&project);
        check.counts(&project);
        check.bands(&project);
        if check.faults.is_empty() { Ok(Self(project)) } else { Err(check.faults) }
    }

    /// The same rig with the driver of this name in it; `None` where nobody has the name.
    #[must_use]
    pub fn driven_by(&self, name: &str) -> Option<Self> {
        // Everybody was checked alike.
        let mut project = self.0.clone();
        project.seat_driver(name).then_some(Self(project))
    }

    /// The same with the number at `path` elsewhere, one that can be adjusted; `None` where its range or another part
    /// forbids it, or no number is there. What has no part in adjusting was checked before and is not checked again.
    #[must_use]
    pub fn adjusted(&self, path: &str, value: f64) -> Option<Self> {
        let mut project = self.0.clone();
        let mut sound = false;
        let page = page_of_adjustable(&project, path)?;
        fields_of_page(&mut project, page, &mut |field| {
            if field.path == path {
                sound = (field.range.0..=field.range.1).contains(&value);
                *field.value = value;
            }
        });
        let mut check = Check::default();
        check.place("seat.position_mm", project.seat.position_mm);
        check.place("pedals.position_mm", project.pedals.position_mm);
        check.seat(&project.seat);
        check.wheel(&project);
        check.pedals(&project);
        check.screens(&project);
        (sound && check.faults.is_empty()).then_some(Self(project))
    }

    /// The shapes, to be read; what is written of them stays.
    pub(super) fn shapes_mut(&mut self) -> &mut [super::Shape] {
        &mut self.0.shapes
    }

    /// The project as written.
    pub fn into_inner(self) -> Project {
        self.0
    }
}

impl Deref for Checked {
    type Target = Project;

    fn deref(&self) -> &Project {
        &self.0
    }
}

/// A check under way.
#[derive(Default)]
struct Check {
    faults: Vec<Fault>,
}

impl Check {
    fn fault(&mut self, path: impl Into<String>, kind: FaultKind) {
        self.faults.push(Fault::new(path, kind));
    }

    fn contradiction(&mut self, path: impl Into<String>, contradiction: Contradiction) {
        self.fault(path, FaultKind::Contradiction(contradiction));
    }

    /// True where nothing is wrong with the fields at `paths` or within them.
    fn sound(&self, paths: &[&str]) -> bool {
        let within = |fault: &Fault, path: &str| {
            fault.path.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        !self.faults.iter().any(|fault| paths.iter().any(|path| within(fault, path)))
    }

    fn version(&mut self, project: &Project) {
        if project.version != VERSION {
            self.fault("version", FaultKind::Version { found: project.version.into(), known: VERSION });
        }
    }

    fn names(&mut self, project: &Project) {
        self.name("title", &project.title);
        let others = project.others.len().min(OTHERS);
        let mut known: Vec<(String, &str)> = Vec::new();
        for (at, driver) in project.drivers().take(1 + others) {
            let path = format!("{at}.name");
            self.name(&path, &driver.name);
            // One driver alone needs no name.
            if others > 0 && driver.name.trim().is_empty() {
                self.fault(path, FaultKind::NameEmpty);
            } else if let Some((first, _)) = known.iter().find(|(_, name)| *name == driver.name) {
                self.fault(path, FaultKind::RepeatedName { first: first.clone() });
            }
            known.push((at, &driver.name));
        }
        let rails = project.frame.iter().map(|rail| rail.name.as_str());
        let controls = project.controls.iter().map(|control| control.name.as_str());
        self.part_names("frame", rails);
        self.part_names("controls", controls);
        self.part_names("views", project.views.iter().map(|view| view.name.as_str()));
        self.part_names("shapes", project.shapes.iter().map(|shape| shape.name.as_str()));
        let weights = project.loads.iter().flat_map(|loads| &loads.weights).map(|weight| weight.name.as_str());
        self.part_names("loads.weights", weights);
    }

    fn part_names<'p>(&mut self, list: &str, names: impl Iterator<Item = &'p str>) {
        let mut known: Vec<&str> = Vec::new();
        for (index, name) in names.take(PARTS).enumerate() {
            let path = format!("{list}[{index}].name");
            self.name(&path, name);
            if name.trim().is_empty() {
                self.fault(path, FaultKind::NameEmpty);
            } else if let Some(first) = known.iter().position(|known| *known == name) {
                self.fault(path, FaultKind::RepeatedName { first: format!("{list}[{first}]") });
            }
            known.push(name);
        }
    }

    fn name(&mut self, path: &str, name: &str) {
        let found = name.chars().count();
        if found > NAME {
            self.fault(path, FaultKind::NameTooLong { found, limit: NAME });
        }
        if let Some(control) = name.chars().find(|c| c.is_control()) {
            self.fault(path, FaultKind::ControlCharacter { code: control.into() });
        }
    }

    /// Cuts lists that are too long, so that the rest of the check is bounded.
    fn surplus(&mut self, project: &mut Project) {
        let lists = [
            ("frame", project.frame.len()),
            ("controls", project.controls.len()),
            ("shapes", project.shapes.len()),
            ("views", project.views.len()),
        ];
        for (path, found) in lists {
            if found > PARTS {
                self.fault(path, FaultKind::TooMany { found, limit: PARTS });
            }
        }
        let others = project.others.len();
        if others > OTHERS {
            self.fault("others", FaultKind::TooManyDrivers { found: others, limit: OTHERS });
        }
        if let Some(loads) = &mut project.loads {
            let found = loads.weights.len();
            if found > PARTS {
                self.fault("loads.weights", FaultKind::TooMany { found, limit: PARTS });
            }
            loads.weights.truncate(PARTS);
        }
        project.others.truncate(OTHERS);
        project.frame.truncate(PARTS);
        project.controls.truncate(PARTS);
        project.shapes.truncate(PARTS);
        project.views.truncate(PARTS);
        let pedals = project.pedals.pedals.len();
        if !(2..=3).contains(&pedals) {
            self.contradiction("pedals.pedals", Contradiction::PedalCount { found: pedals });
            project.pedals.pedals.truncate(3);
        }
    }

    /// Every number finite and in its range.
    fn numbers(&mut self, project: &mut Project) {
        let hands = project.wheel.hands_h;
        let swapped = (0.0..6.0).contains(&hands[0]) && hands[1] > 6.0 && hands[1] <= 12.0;
        if swapped {
            self.contradiction("wheel.hands_h", Contradiction::HandsSwapped { found: hands });
        }
        let mut measured = Vec::new();
        let mut outside = Vec::new();
        fields(project, &mut |field| {
            let (value, (low, high)) = (*field.value, field.range);
            // These are told by a contradiction, or as missing.
            let told = field.path == "seat.slider.at_mm"
                || swapped && field.path.starts_with("wheel.hands_h")
                || value == UNWRITTEN[0];
            let right = told || (low..=high).contains(&value);
            if field.path.contains(".measured.") && field.path.ends_with(".value") {
                measured.push((field.path.clone(), field.unit, value, field.range));
            }
            if !(right && value.is_finite()) {
                outside.push((field.path, field.label, field.unit, field.range, value));
            }
        });
        for (path, label, unit, (low, high), value) in outside {
            if let Some(value) = NonFinite::of(value) {
                self.fault(path, FaultKind::NotFinite { value });
                continue;
            }
            let reference = match label.split_once(" from ") {
                Some((_, "horizontal")) => Some("from horizontal"),
                Some((_, "vertical")) => Some("from vertical"),
                _ => None,
            };
            let mut slips = slips_of_unit(value, (low, high), unit);
            slips.extend(slip_of_line(&path, reference, value));
            if path.contains(".measured.") {
                slips.extend(slips_of_tape(value, (low, high), unit));
                slips.extend(swapped_with(&path, value, (low, high), &measured));
            }
            let kind = if value < 0.0 && low >= 0.0 && slips.is_empty() {
                FaultKind::Negative { value, low, high, unit }
            } else {
                FaultKind::OutOfRange { value, low, high, unit, reference, slips }
            };
            self.fault(path, kind);
        }
        for (path, found) in
            [("seat.position_mm", project.seat.position_mm), ("pedals.position_mm", project.pedals.position_mm)]
        {
            self.place(path, found);
        }
    }

    /// Places in metres are in the range of millimetres; but no seat, pedal or control is that near the origin.
    fn place(&mut self, path: &str, found: [f64; 3]) {
        let largest = found.iter().fold(0.0, |largest: f64, v| largest.max(v.abs()));
        if self.sound(&[path]) && largest > 0.0 && largest < 5.0 {
            self.fault(path, FaultKind::PlaceInMetres { found });
        }
    }

    fn measured(&mut self, project: &Project) {
        for (at, driver) in project.drivers() {
            let measured = &driver.measured;
            for (field, value) in [("stature_mm", measured.stature_mm), ("mass_kg", measured.mass_kg)] {
                if value.is_none() {
                    self.fault(format!("{at}.measured.{field}"), FaultKind::Unmeasured { field });
                }
            }
        }
    }

    fn seat(&mut self, seat: &Seat) {
        if self.sound(&["seat.slider"]) {
            let (at, range) = (seat.slider.at_mm, seat.slider.range_mm);
            if range[0] > range[1] {
                let [rear, front] = range;
                self.contradiction("seat.slider.range_mm", Contradiction::SliderEndsSwapped { rear, front });
            } else if !(range[0]..=range[1]).contains(&at) {
                self.contradiction("seat.slider.at_mm", Contradiction::SliderOutside { at, range });
            }
        }
        if self.sound(&["seat.cushion_angle_deg", "seat.back_angle_deg"]) {
            let between = |back: BackAngle| 90.0 + back.from_vertical_deg() - seat.cushion_angle_deg;
            let angle = between(seat.back_angle_deg);
            if !CUSHION_TO_BACK.contains(&angle) {
                let (other, slip) = other_line(seat.back_angle_deg);
                let slip = CUSHION_TO_BACK.contains(&between(other)).then_some(slip);
                self.contradiction("seat.back_angle_deg", Contradiction::CushionToBack { angle: tenth(angle), slip });
            }
        }
        let back = &seat.back;
        let top = back.length_mm;
        let mut heights = vec![
            ("seat.back.bolster_top_mm", back.bolster_top_mm),
            ("seat.back.lumbar_height_mm", back.lumbar_height_mm),
        ];
        if let Some(wings) = &seat.wings {
            heights.push(("seat.wings.to_mm", wings.to_mm));
            if self.sound(&["seat.wings"]) && wings.from_mm >= wings.to_mm {
                let (from, to) = (wings.from_mm, wings.to_mm);
                self.contradiction("seat.wings.from_mm", Contradiction::WingsUpsideDown { from, to });
            }
        }
        for (path, height) in heights {
            if self.sound(&["seat.back.length_mm", path]) && height > top {
                self.contradiction(path, Contradiction::AboveBack { height, top });
            }
        }
    }

    fn wheel(&mut self, project: &Project) {
        let seat = project.seat.position_mm[0] + project.seat.slider.at_mm;
        let wheel = project.wheel.centre_mm[0];
        if self.sound(&["wheel.centre_mm", "seat.position_mm", "seat.slider"]) && wheel <= seat {
            self.contradiction("wheel.centre_mm[0]", Contradiction::WheelBehindSeat { wheel, seat });
        }
        if self.sound(&["wheel.rim", "wheel.tube_mm"]) {
            self.rim(&project.wheel);
        }
        if let (true, Rim::OpenTopped { opening_deg: opening, .. }) =
            (self.sound(&["wheel.rim", "wheel.hands_h"]), project.wheel.rim)
        {
            // An hour on the clock face is 30°.
            for side in Side::BOTH {
                let hour = project.wheel.hands_h[side.index()];
                let from_top = 30.0 * hour.min(12.0 - hour);
                if from_top < opening / 2.0 {
                    let path = format!("wheel.hands_h[{}]", side.index());
                    self.contradiction(path, Contradiction::HandInOpening { side, opening });
                }
            }
        }
    }

    fn rim(&mut self, wheel: &Wheel) {
        let grip = wheel.tube_mm;
        let across = match wheel.rim {
            Rim::Round { diameter_mm } | Rim::OpenTopped { diameter_mm, .. } => diameter_mm,
            Rim::FlatBottomed { diameter_mm, flat_mm } => {
                let radius = diameter_mm / 2.0;
                if flat_mm >= radius {
                    self.contradiction("wheel.rim.flat_mm", Contradiction::FlatBeyondRim { flat: flat_mm, radius });
                }
                radius + flat_mm.min(radius)
            }
            Rim::Formula { width_mm, height_mm, corner_mm: corner } => {
                let across = width_mm.min(height_mm);
                if corner > across / 2.0 {
                    let most = across / 2.0;
                    self.contradiction("wheel.rim.corner_mm", Contradiction::CornerTooLarge { corner, most });
                } else if corner < grip / 2.0 {
                    self.contradiction("wheel.rim.corner_mm", Contradiction::CornerTighterThanGrip { corner, grip });
                }
                across
            }
        };
        if 2.0 * grip >= across {
            self.contradiction("wheel.tube_mm", Contradiction::GripTooThick { grip, across });
        }
    }

    fn pedals(&mut self, project: &Project) {
        let set = &project.pedals;
        let seat = project.seat.position_mm[0] + project.seat.slider.at_mm;
        let pedals = set.position_mm[0];
        if self.sound(&["pedals.position_mm", "seat.position_mm", "seat.slider"]) && pedals <= seat {
            self.contradiction("pedals.position_mm[0]", Contradiction::PedalsBehindSeat { pedals, seat });
        }
        let counted = self.faults.iter().all(|fault| fault.path != "pedals.pedals");
        for (index, pedal) in set.pedals.iter().enumerate() {
            self.pedal(&format!("pedals.pedals[{index}]"), pedal);
        }
        if counted {
            self.pedal_kinds(set);
        }
    }

    fn pedal_kinds(&mut self, set: &PedalSet) {
        let first = |kind: PedalKind| set.pedals.iter().position(|pedal| pedal.kind == kind);
        for (index, pedal) in set.pedals.iter().enumerate() {
            if let Some(first) = first(pedal.kind).filter(|&first| first < index) {
                let (kind, first) = (pedal.kind, format!("pedals.pedals[{first}]"));
                self.fault(format!("pedals.pedals[{index}].kind"), FaultKind::RepeatedPedal { kind, first });
            }
        }
        for kind in [PedalKind::Brake, PedalKind::Throttle] {
            if first(kind).is_none() {
                self.contradiction("pedals.pedals", Contradiction::NoPedal { kind });
            }
        }
        let Some(brake) = first(PedalKind::Brake) else { return };
        for kind in [PedalKind::Clutch, PedalKind::Throttle] {
            let Some(index) = first(kind) else { continue };
            let path = format!("pedals.pedals[{index}].sideways_mm");
            let brake_path = format!("pedals.pedals[{brake}].sideways_mm");
            let (at, brake) = (set.pedals[index].sideways_mm, set.pedals[brake].sideways_mm);
            // Left is positive.
            let in_order = if kind == PedalKind::Clutch { at > brake } else { at < brake };
            if self.sound(&[&path, &brake_path]) && !in_order {
                self.contradiction(path, Contradiction::PedalOrder { kind, at, brake });
            }
        }
    }

    fn pedal(&mut self, path: &str, pedal: &Pedal) {
        if self.sound(&[&format!("{path}.travel_mm"), &format!("{path}.working_travel_mm")]) {
            let (working, full) = (pedal.working_travel_mm, pedal.travel_mm);
            if working > full {
                let contradiction = Contradiction::WorkingTravelBeyondFull { working, full };
                self.contradiction(format!("{path}.working_travel_mm"), contradiction);
            }
        }
        let fields = ["face_mm", "pivot_mm", "travel_mm"].map(|field| format!("{path}.{field}"));
        if !self.sound(&[&fields[0], &fields[1], &fields[2]]) {
            return;
        }
        let forward = pedal.face_mm[0] - pedal.pivot_mm[0];
        let up = pedal.face_mm[1] - pedal.pivot_mm[1];
        let radius = forward.hypot(up);
        if radius < ARM {
            let contradiction = Contradiction::PivotAtFace { distance: tenth(radius), least: ARM };
            self.contradiction(format!("{path}.pivot_mm"), contradiction);
        } else if up.abs() < 1.0 {
            let height = pedal.pivot_mm[1];
            self.contradiction(format!("{path}.pivot_mm[1]"), Contradiction::PivotLevel { height });
        } else {
            // The face moves forward until its arm, measured from upright, points straight forward.
            let arc = radius * (FRAC_PI_2 - forward.atan2(up.abs()));
            let travel = pedal.travel_mm;
            if travel > arc {
                let contradiction = Contradiction::TravelBeyondArc { travel, arc: tenth(arc) };
                self.contradiction(format!("{path}.travel_mm"), contradiction);
            }
        }
    }

    fn frame(&mut self, frame: &mut [Rail]) {
        for (index, rail) in frame.iter().enumerate() {
            self.rail(&format!("frame[{index}]"), rail);
        }
        self.attachments(frame);
        for (index, rail) in frame.iter().enumerate() {
            let path = format!("frame[{index}]");
            let fields = ["from_mm", "to_mm", "from_on", "to_on", "section_mm"].map(|field| format!("{path}.{field}"));
            let placed = rail.from_mm != UNWRITTEN && rail.to_mm != UNWRITTEN;
            if !placed || !self.sound(&fields.each_ref().map(String::as_str)) || !self.sound_itself(&path) {
                continue;
            }
            let length = 1000.0 * rail.length();
            let section = rail.section_mm[0].min(rail.section_mm[1]);
            if length < section {
                // A rail of 0.3 to 5 m, written in metres.
                let from_metres = (0.3..=5.0).contains(&length).then(|| tenth(length * 1000.0));
                let length = tenth(length);
                self.contradiction(path, Contradiction::RailTooShort { length, section, from_metres });
            }
        }
    }

    /// True where nothing is wrong with the value at `path` as a whole.
    fn sound_itself(&self, path: &str) -> bool {
        self.faults.iter().all(|fault| fault.path != path)
    }

    /// What a rail says of itself.
    fn rail(&mut self, path: &str, rail: &Rail) {
        for (end, place, on) in [("from", rail.from_mm, &rail.from_on), ("to", rail.to_mm, &rail.to_on)] {
            if on.is_none() && place == UNWRITTEN {
                let example =
                    format!("{end}_mm: (0, 250, 40)` or `{end}_on: (rail: \"base left\", side: Right, along_mm: 300)");
                self.fault(format!("{path}.{end}_mm"), FaultKind::MissingField { example: Some(example) });
            }
        }
        if let Some(pieces) = rail.joint.and_then(|joint| joint.pieces) {
            let (found, low, high) = (pieces as usize, 1, 8);
            if !(low..=high).contains(&found) {
                self.fault(format!("{path}.joint.pieces"), FaultKind::Count { found, low, high, odd: false });
            }
        }
        let Some(name) = &rail.section else { return };
        let at = format!("{path}.section");
        let Some(section) = sections().iter().find(|section| section.name == *name) else {
            static NAMES: OnceLock<Vec<&'static str>> = OnceLock::new();
            let allowed = NAMES.get_or_init(|| sections().iter().map(|section| section.name.as_str()).collect());
            let near = near(name, allowed).map(str::to_owned);
            self.fault(at, FaultKind::UnknownWord { found: on_one_line(name, 40), near, allowed });
            return;
        };
        let size = section.size_mm();
        let mut own = rail.section_mm;
        own.sort_by(f64::total_cmp);
        if self.sound(&[&format!("{path}.section_mm")]) && (0..2).any(|i| (own[i] - size[i]).abs() > 0.6) {
            self.contradiction(at, Contradiction::SectionOfOtherSize { size, found: rail.section_mm });
        }
    }

    /// Puts attached ends in their places, where nothing is wrong with the numbers.
    fn attachments(&mut self, frame: &mut [Rail]) {
        if !self.sound(&["frame"]) {
            return;
        }
        let end_path = |rail: usize, end: usize| format!("frame[{rail}].{}_on", ["from", "to"][end]);
        let names: Vec<String> = frame.iter().map(|rail| rail.name.clone()).collect();
        for astray in attach_all(frame) {
            match astray {
                Astray::NoSuchRail { rail, end } => {
                    let named = frame[rail].attachments()[end].map_or("", |on| on.rail.as_str());
                    let others: Vec<&str> = names.iter().map(String::as_str).collect();
                    let near = near(named, &others).map(str::to_owned);
                    let found = on_one_line(named, 40);
                    self.contradiction(
                        format!("{}.rail", end_path(rail, end)),
                        Contradiction::NoSuchRail { found, near },
                    );
                }
                Astray::Circle { rail } => {
                    let end = usize::from(frame[rail].from_on.is_none());
                    self.contradiction(end_path(rail, end), Contradiction::AttachedInCircle);
                }
            }
        }
        if !self.sound(&["frame"]) {
            return;
        }
        for (rail, own) in frame.iter().enumerate() {
            for (end, on) in own.attachments().into_iter().enumerate() {
                let Some(on) = on else { continue };
                let Some(carrier) = frame.iter().find(|carrier| carrier.name == on.rail) else { continue };
                let length = tenth(1000.0 * carrier.length());
                let slots = carrier.slots(on.side);
                let path = end_path(rail, end);
                // Half of a wide section may stand over the carrier's end.
                if !(-OVERHANG..=length + OVERHANG).contains(&on.along_mm) {
                    let (along, rail) = (on.along_mm, on.rail.clone());
                    self.contradiction(
                        format!("{path}.along_mm"),
                        Contradiction::AlongBeyondRail { along, rail, length },
                    );
                }
                if on.slot > slots {
                    let (found, side) = (on.slot, on.side);
                    self.contradiction(format!("{path}.slot"), Contradiction::NoSuchSlot { found, slots, side });
                }
            }
        }
    }

    fn controls(&mut self, project: &Project) {
        for (index, control) in project.controls.iter().enumerate() {
            self.place(&format!("controls[{index}].at_mm"), control.at_mm);
        }
    }

    /// Before the numbers, whose ranges they narrow.
    fn adjusters(&mut self, project: &mut Project) {
        let found = project.adjusters.len();
        if found > PARTS {
            self.fault("adjusters", FaultKind::TooMany { found, limit: PARTS });
            project.adjusters.truncate(PARTS);
        }
        if found == 0 {
            return;
        }
        let mut paths = Vec::new();
        fields(project, &mut |field| {
            if can_be_adjusted(&field.path) {
                paths.push(field.path);
            }
        });
        let mut sound = Vec::new();
        for (index, adjuster) in project.adjusters.iter().enumerate() {
            let path = format!("adjusters[{index}]");
            let ([low, high], step) = (adjuster.range, adjuster.step);
            let numbers = [("range[0]", low), ("range[1]", high), ("step", step)];
            if let Some((name, value)) = numbers.iter().find_map(|(name, value)| Some((name, NonFinite::of(*value)?))) {
                self.fault(format!("{path}.{name}"), FaultKind::NotFinite { value });
            } else if !paths.contains(&adjuster.field) {
                let found = on_one_line(&adjuster.field, 60);
                let near = nearest(&found, paths.iter().map(String::as_str)).next().map(str::to_owned);
                self.contradiction(format!("{path}.field"), Contradiction::NoSuchAdjuster { found, near });
            } else if low > high || !(0.0..=high - low).contains(&step) {
                self.contradiction(path, Contradiction::AdjusterRange { range: [low, high], step });
            } else {
                sound.push(adjuster.clone());
            }
        }
        // What is wrong itself narrows nothing.
        project.adjusters = sound;
    }

    fn shapes(&mut self, project: &Project) {
        for (index, shape) in project.shapes.iter().enumerate() {
            if shape.forward.is_along(shape.up) {
                let (forward, up) = (shape.forward.word(), shape.up.word());
                self.contradiction(format!("shapes[{index}].up"), Contradiction::AxesOnOneLine { forward, up });
            }
        }
    }

    fn screens(&mut self, project: &Project) {
        let Some(screens) = &project.screens else { return };
        if let ScreenPlace::FromEye { distance_mm: distance, eye_mm } = screens.place
            && self.sound(&["screens.place", "screens.height_mm"])
            && screens.middle_mm().is_none()
        {
            let up = screens.height_mm - eye_mm[2];
            let (apart, above, least) = (tenth(up.abs()), up > 0.0, (up.abs() + 10.0).ceil());
            let contradiction = Contradiction::ScreenNearerThanHeight { distance, apart, above, least };
            self.contradiction("screens.place.distance_mm", contradiction);
        }
        if let ScreenKind::Ultrawide { radius_mm: radius } = screens.kind
            && self.sound(&["screens.kind", "screens.size", "screens.bezel_mm"])
        {
            let width = screens.size.sides_mm()[0] + 2.0 * screens.bezel_mm;
            if width > std::f64::consts::PI * radius {
                let (width, least) = (tenth(width), (width / std::f64::consts::PI).ceil());
                self.contradiction("screens.kind.radius_mm", Contradiction::BentTooFar { radius, width, least });
            }
        }
        if let ScreenStand::Rail { rail, .. } = &screens.stand
            && project.frame.iter().all(|own| own.name != *rail)
        {
            let names: Vec<&str> = project.frame.iter().map(|rail| rail.name.as_str()).collect();
            let near = near(rail, &names).map(str::to_owned);
            let found = on_one_line(rail, 40);
            self.contradiction("screens.stand.rail", Contradiction::NoSuchRail { found, near });
        }
    }

    fn counts(&mut self, project: &Project) {
        let motion = &project.motion;
        let (found, low, high) = (motion.steer_steps, 3, 2001);
        if !(low..=high).contains(&found) || found % 2 == 0 {
            self.fault("motion.steer_steps", FaultKind::Count { found, low, high, odd: true });
        }
        let (found, low, high) = (motion.pedal_steps, 2, 501);
        if !(low..=high).contains(&found) {
            self.fault("motion.pedal_steps", FaultKind::Count { found, low, high, odd: false });
        }
    }

    fn bands(&mut self, project: &Project) {
        for (id, band) in &project.bands {
            if band_ids().any(|known| known == id) {
                self.band(&format!("bands.{id}"), band);
            } else {
                let near = nearest(id, band_ids()).take(3).collect();
                self.fault(format!("bands.{id}"), FaultKind::UnknownBand { near });
            }
        }
    }

    fn band(&mut self, path: &str, band: &BandOverride) {
        let BandOverride { good, limit } = *band;
        for (name, ends) in [("good", good), ("limit", limit)] {
            for (index, value) in ends.iter().enumerate().filter_map(|(index, &end)| Some((index, NonFinite::of(end)?)))
            {
                self.fault(format!("{path}.{name}[{index}]"), FaultKind::NotFinite { value });
            }
            if self.sound(&[&format!("{path}.{name}")]) && ends[0] > ends[1] {
                self.contradiction(format!("{path}.{name}"), Contradiction::BandEndsSwapped { ends });
            }
        }
        if self.sound(&[path]) && (good[0] < limit[0] || good[1] > limit[1]) {
            self.contradiction(format!("{path}.good"), Contradiction::BandBeyondLimit { good, limit });
        }
    }
}

/// The units in which `value` may have been typed, where that brings it into range.
fn slips_of_unit(value: f64, (low, high): (f64, f64), unit: Unit) -> Vec<Slip> {
    let factors: &[(&str, f64)] = match unit {
        Unit::Millimetre => &[("metres", 1000.0), ("centimetres", 10.0), ("inches", 25.4)],
        Unit::Kilogram => &[("grams", 1e-3)],
        Unit::Degree => &[("radians", 180.0 / std::f64::consts::PI)],
        _ => &[],
    };
    slips_by(factors, value, (low, high))
}

/// Slips that happen with tape and scale.
fn slips_of_tape(value: f64, (low, high): (f64, f64), unit: Unit) -> Vec<Slip> {
    let factors: &[(&str, f64)] = match unit {
        Unit::Kilogram => &[("pounds", 0.453_592_37), ("stone", 6.350_293), ("tenths of a kilogram", 0.1)],
        _ => &[("inches as though they were centimetres", 2.54), ("tenths of a millimetre", 0.1)],
    };
    let mut slips = slips_by(factors, value, (low, high));
    let digits = digits_changed_back(value).into_iter().filter(|meant| (low..=high).contains(meant));
    slips.extend(digits.map(|meant| Slip::Digits { meant }));
    slips
}

fn slips_by(factors: &[(&'static str, f64)], value: f64, (low, high): (f64, f64)) -> Vec<Slip> {
    let typed_in = |&(typed_in, factor): &(&'static str, f64)| {
        let meant = tenth(value * factor);
        (value != 0.0 && (low..=high).contains(&meant)).then_some(Slip::Unit { typed_in, meant })
    };
    factors.iter().filter_map(typed_in).collect()
}

/// A measured number: its path, unit, value and range.
type Taken = (String, Unit, f64, (f64, f64));

/// The measurement of the same driver in whose place this one would be right and the other way round, if there is one.
fn swapped_with(path: &str, value: f64, range: (f64, f64), measured: &[Taken]) -> Option<Slip> {
    // How far a value lies from the middle of a range, as a ratio.
    let off = |value: f64, (low, high): (f64, f64)| (value / (low * high).sqrt()).ln().abs();
    let within = |value: f64, (low, high): (f64, f64)| (low..=high).contains(&value);
    let driver = |path: &str| path.split(".measured.").next().map(str::to_owned);
    let (_, unit, ..) = measured.iter().find(|taken| taken.0 == path)?;
    measured
        .iter()
        .filter(|(other, other_unit, ..)| other != path && other_unit == unit && driver(other) == driver(path))
        .filter(|&&(_, _, other, other_range)| {
            let swapped = off(value, other_range) + off(other, range);
            within(value, other_range) && within(other, range) && swapped < off(value, range) + off(other, other_range)
        })
        .min_by(|a, b| (off(value, a.3) + off(a.2, range)).total_cmp(&(off(value, b.3) + off(b.2, range))))
        .map(|(other, ..)| Slip::Swapped { with: other.trim_end_matches(".value").to_owned() })
}

/// The gauge's other line, where a back angle out of range would be one read from there.
fn slip_of_line(path: &str, reference: Option<&str>, value: f64) -> Option<Slip> {
    let (written, range) = match (path, reference) {
        ("seat.back_angle_deg", Some("from horizontal")) => (BackAngle::FromHorizontal(value), -10.0..=90.0),
        ("seat.back_angle_deg", Some("from vertical")) => (BackAngle::FromVertical(value), 0.0..=100.0),
        _ => return None,
    };
    range.contains(&value).then(|| other_line(written).1)
}

/// The same number read from the gauge's other line.
fn other_line(back: BackAngle) -> (BackAngle, Slip) {
    match back {
        BackAngle::FromHorizontal(value) => {
            let say = format!("FromVertical({})", plain(value));
            (BackAngle::FromVertical(value), Slip::Line { read_from: "vertical", say })
        }
        BackAngle::FromVertical(value) => {
            let say = format!("FromHorizontal({})", plain(value));
            (BackAngle::FromHorizontal(value), Slip::Line { read_from: "horizontal", say })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::load;

    #[test]
    fn a_number_that_is_adjusted_is_taken_or_refused_as_in_a_check_of_everything() {
        let assets = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets");
        let (mut taken, mut refused) = (0, 0);
        for name in ["open_day.ron", "club_rig.ron", "formula.ron", "starter.ron"] {
            let (project, _) = load(&assets.join(name)).unwrap();
            let mut adjustable = Vec::new();
            fields(&mut project.clone().into_inner(), &mut |field| {
                if can_be_adjusted(&field.path) {
                    adjustable.push((field.path, field.range));
                }
            });
            assert!(adjustable.len() > 10);
            for (path, (low, high)) in adjustable {
                for share in [-0.1, 0.0, 0.02, 0.3, 0.5, 0.8, 1.0, 1.1] {
                    let value = low + share * (high - low);
                    let mut changed = project.clone().into_inner();
                    fields(&mut changed, &mut |field| {
                        if field.path == path {
                            *field.value = value;
                        }
                    });
                    let whole = Checked::new(changed).ok();
                    assert_eq!(project.adjusted(&path, value), whole, "{name}: {path} at {value}");
                    *(if whole.is_some() { &mut taken } else { &mut refused }) += 1;
                }
            }
        }
        assert!(taken > 100 && refused > 100, "{taken} {refused}");
    }
}
