//! Random sound projects, for whatever must hold for every project.

use heelpoint::{
    geometry::Side,
    project::{
        Attachment, BackAngle, BandOverride, Checked, Control, Fit, Headgear, JointKind, Measured, Measurements,
        PedalKind, PedalsUsed, PersonalLimits, Population, Project, Rail, RailFace, RailJoint, Rim, ScreenKind,
        ScreenPlace, ScreenSize, ScreenStand, Screens, Style, Tolerances, Weight, Wings, band_ids, fields, parse,
        starter,
    },
};
use proptest::{collection::vec, option, prelude::*};

/// Any sound project: every number may be anywhere in its range, every choice taken, every option left out.
pub fn project() -> impl Strategy<Value = Project> {
    let numbers = vec(0.0..=1.0_f64, 64);
    let reach = prop_oneof![Just(0.02), Just(0.2), Just(1.0)];
    let parts = (vec(rail(), 0..6), vec(control(), 0..4), vec(option::of(hung()), 6));
    (choices(), numbers, reach, parts, names()).prop_filter_map(
        "sound",
        |(choices, numbers, reach, (rails, controls, hung), names)| {
            let mut project = parse(starter()).ok()?.into_inner();
            choices.apply(&mut project);
            project.frame.extend(rails);
            project.controls.extend(controls);
            rename(&mut project, &names);
            scatter(&mut project, &numbers, reach);
            mend(&mut project);
            hang(&mut project, &hung);
            Checked::new(project).ok().map(Checked::into_inner)
        },
    )
}

/// Everything about a project that is not a number of [`fields`].
#[derive(Clone, Debug)]
struct Choices {
    style: Style,
    population: Population,
    sides: [Side; 2],
    vertical: bool,
    rim: u8,
    wings: bool,
    clutch: bool,
    used: PedalsUsed,
    measured: Vec<bool>,
    limits: Vec<bool>,
    steps: (usize, usize),
    bands: Vec<(usize, [f64; 4])>,
}

fn choices() -> impl Strategy<Value = Choices> {
    let side = || prop_oneof![Just(Side::Left), Just(Side::Right)];
    let style = prop_oneof![Just(Style::ClosedCar), Just(Style::Formula), Just(Style::Road)];
    let population = prop_oneof![Just(Population::Men), Just(Population::Women)];
    let used = prop_oneof![Just(PedalsUsed::All), Just(PedalsUsed::BrakeAndThrottle)];
    let parts = (0..4_u8, any::<bool>(), any::<bool>(), used);
    let driver = (vec(any::<bool>(), Measurements::LIST.len()), vec(any::<bool>(), 7));
    let steps = (1..20_usize, 2..40_usize);
    let bands = vec((0..200_usize, [-1e3..1e3, -1e3..1e3, -1e3..1e3, -1e3..1e3]), 0..3);
    (style, population, [side(), side()], any::<bool>(), parts, driver, steps, bands).prop_map(
        |(style, population, sides, vertical, (rim, wings, clutch, used), (measured, limits), steps, bands)| Choices {
            style,
            population,
            sides,
            vertical,
            rim,
            wings,
            clutch,
            used,
            measured,
            limits,
            steps,
            bands,
        },
    )
}

impl Choices {
    /// Every kind, size, place and stand of a screen, or none.
    fn screens(&self) -> Option<Screens> {
        let [a, b, c, d] = [self.wings, self.clutch, self.vertical, self.sides[0] == Side::Left];
        let kind = match self.rim {
            0 => return None,
            1 => ScreenKind::Single,
            2 => ScreenKind::Triple { side_angle_deg: 50.0 },
            _ => ScreenKind::Ultrawide { radius_mm: 1200.0 },
        };
        let size = if a {
            ScreenSize::Diagonal { diagonal_mm: 800.0, aspect: [21.0, 9.0] }
        } else {
            ScreenSize::Sides { width_mm: 700.0, height_mm: 400.0 }
        };
        let place = if b {
            ScreenPlace::InRig { forward_mm: 1100.0, left_mm: 20.0 }
        } else {
            ScreenPlace::FromEye { distance_mm: 700.0, eye_mm: [200.0, 0.0, 1000.0] }
        };
        let stand = if c {
            ScreenStand::Feet { post_mm: [80.0, 80.0], foot_mm: [600.0, 60.0, 40.0], apart_mm: 700.0 }
        } else {
            ScreenStand::Elsewhere
        };
        let (tilt_deg, bezel_mm) = if d { (8.0, 0.0) } else { (0.0, 10.0) };
        Some(Screens { kind, size, place, tilt_deg, bezel_mm, stand, ..Screens::usual() })
    }

    fn apply(&self, project: &mut Project) {
        project.style = self.style;
        project.driver.population = self.population;
        project.driver.brakes_with = self.sides[0];
        for control in &mut project.controls {
            control.hand = self.sides[1];
        }
        if self.vertical {
            let leaning = project.seat.back_angle_deg.from_vertical_deg();
            project.seat.back_angle_deg = BackAngle::FromVertical(leaning);
        }
        project.wheel.rim = match self.rim {
            0 => Rim::Round { diameter_mm: 320.0 },
            1 => Rim::FlatBottomed { diameter_mm: 330.0, flat_mm: 130.0 },
            2 => Rim::OpenTopped { diameter_mm: 320.0, opening_deg: 90.0 },
            _ => Rim::Formula { width_mm: 280.0, height_mm: 170.0, corner_mm: 50.0 },
        };
        project.seat.wings =
            self.wings.then_some(Wings { from_mm: 400.0, to_mm: 590.0, depth_mm: 100.0, width_mm: 520.0 });
        if !self.clutch {
            project.pedals.pedals.retain(|pedal| pedal.kind != PedalKind::Clutch);
        }
        project.motion.pedals = self.used;
        project.motion.steer_steps = 2 * self.steps.0 + 1;
        project.motion.pedal_steps = self.steps.1;
        for (&(field, ..), taken) in Measurements::LIST.iter().zip(&self.measured) {
            if *taken && let Some(entry @ None) = project.driver.measured.entry(field) {
                // Scattered over its range with all other numbers.
                *entry = Some(Measured::new(0.0, 5.0));
            }
        }
        project.driver.headgear = (self.sides[1] == Side::Left).then_some(Headgear { over_mm: 20.0, ahead_mm: 50.0 });
        project.tolerances = self.clutch.then_some(Tolerances { length_mm: 3.0, angle_deg: 1.0 });
        let limit = |index: usize| self.limits[index].then_some(30.0);
        project.driver.limits = PersonalLimits {
            ankle_dorsiflexion_deg: limit(0),
            ankle_plantarflexion_deg: limit(1),
            knee_flexion_deg: limit(2),
            hip_flexion_deg: limit(3),
            elbow_flexion_deg: limit(4),
            wrist_flexion_deg: limit(5),
            wrist_extension_deg: limit(6),
        };
        project.screens = self.screens();
        project.others = vec![project.driver.clone(); usize::from(self.rim)];
        let ids: Vec<_> = band_ids().collect();
        for &(id, mut ends) in &self.bands {
            ends.sort_by(f64::total_cmp);
            let band = BandOverride { good: [ends[1], ends[2]], limit: [ends[0], ends[3]] };
            project.bands.insert(ids[id % ids.len()].to_owned(), band);
        }
    }
}

fn rail() -> impl Strategy<Value = Rail> {
    let end = || [-500.0..2000.0, -600.0..600.0, 0.0..1500.0];
    (end(), end(), [20.0..100.0, 20.0..100.0], -180.0..180.0).prop_map(|(from_mm, to_mm, section_mm, roll_deg)| Rail {
        roll_deg,
        ..Rail::between("", section_mm, from_mm, to_mm)
    })
}

/// How an end hangs on the first rail: face, slot, share of its length, whether it lies across, joint.
type Hung = (RailFace, u32, f64, bool, JointKind);

fn hung() -> impl Strategy<Value = Hung> {
    let face = prop_oneof![Just(RailFace::Left), Just(RailFace::Right), Just(RailFace::Top), Just(RailFace::Bottom)];
    let kind = prop_oneof![
        Just(JointKind::Butt),
        Just(JointKind::EndToFace),
        Just(JointKind::Bracket),
        Just(JointKind::Pivot)
    ];
    (face, 0..2_u32, 0.0..1.0, any::<bool>(), kind)
}

/// Hangs some of the further rails on the first one, and gives the frame its loads.
fn hang(project: &mut Project, hung: &[Option<Hung>]) {
    let Some((first, rest)) = project.frame.split_first_mut() else { return };
    for (rail, &hung) in rest.iter_mut().rev().zip(hung) {
        let Some((side, slot, share, across, kind)) = hung else { continue };
        rail.from_on = Some(Attachment {
            rail: first.name.clone(),
            side,
            slot,
            along_mm: share * 1000.0 * first.length(),
            sideways_mm: if across { 7.5 } else { 0.0 },
            fit: if across { Fit::Across } else { Fit::Against },
        });
        rail.joint = Some(RailJoint { kind, pieces: Some(1 + slot), turn_nm_per_rad: across.then_some(900.0) });
        let at_mm = rail.to_mm.map(|value| value.clamp(-100.0, 1500.0));
        let loads = project.loads.get_or_insert_default();
        loads.weights.push(Weight { name: rail.name.clone(), kg: 3.0, at_mm });
    }
}

fn control() -> impl Strategy<Value = Control> {
    [100.0..1500.0, -600.0..600.0, 100.0..1300.0].prop_map(|at_mm| Control {
        name: String::new(),
        at_mm,
        hand: Side::Left,
    })
}

/// Names of any characters that a name may have, quotation marks and backslashes often.
fn names() -> impl Strategy<Value = Vec<String>> {
    let letter = prop_oneof![Just('"'), Just('\\'), Just('/'), Just('('), any::<char>()];
    let name = vec(letter, 0..12).prop_map(|letters| letters.into_iter().filter(|c| !c.is_control()).collect());
    vec(name, 8)
}

fn rename(project: &mut Project, names: &[String]) {
    project.title.clone_from(&names[0]);
    project.driver.name.clone_from(&names[1]);
    for (index, other) in project.others.iter_mut().enumerate() {
        other.name = format!("{}, number {index}", names[2]);
    }
    if !project.others.is_empty() {
        project.driver.name.push('.');
    }
    let parts = project.frame.iter_mut().map(|rail| &mut rail.name);
    let parts = parts.chain(project.controls.iter_mut().map(|control| &mut control.name));
    for (index, name) in parts.enumerate() {
        *name = format!("{}{index}", names[2 + index % 6]);
    }
}

/// Moves every number towards a random place in its range, by the share `reach` of the way.
fn scatter(project: &mut Project, numbers: &[f64], reach: f64) {
    let mut index = 0;
    fields(project, &mut |field| {
        let (low, high) = field.range;
        let place = low + numbers[index % numbers.len()] * (high - low);
        index += 1;
        let value = field.value.clamp(low, high);
        *field.value = (value + reach * (place - value)).clamp(low, high);
    });
}

/// Takes the commonest contradictions back, so that not nearly every project is thrown away.
fn mend(project: &mut Project) {
    let seat = &mut project.seat;
    let slider = &mut seat.slider;
    slider.range_mm.sort_by(f64::total_cmp);
    slider.at_mm = slider.at_mm.clamp(slider.range_mm[0], slider.range_mm[1]);
    seat.back.bolster_top_mm = seat.back.bolster_top_mm.min(seat.back.length_mm);
    seat.back.lumbar_height_mm = seat.back.lumbar_height_mm.min(seat.back.length_mm);
    if let Some(wings) = &mut seat.wings {
        wings.to_mm = wings.to_mm.min(seat.back.length_mm).max(250.0);
        wings.from_mm = wings.from_mm.min(wings.to_mm - 10.0).max(200.0);
    }
    let forward = seat.position_mm[0] + slider.at_mm;
    project.wheel.centre_mm[0] = project.wheel.centre_mm[0].max(forward + 50.0);
    project.pedals.position_mm[0] = project.pedals.position_mm[0].max(forward + 100.0);
    let pedals = &mut project.pedals.pedals;
    let mut sideways: Vec<_> = pedals.iter().map(|pedal| pedal.sideways_mm).collect();
    sideways.sort_by(|a, b| b.total_cmp(a));
    for (pedal, sideways) in pedals.iter_mut().zip(sideways) {
        pedal.sideways_mm = sideways;
        pedal.travel_mm = pedal.travel_mm.min(60.0);
        pedal.working_travel_mm = pedal.working_travel_mm.min(pedal.travel_mm);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn random_projects_are_sound(project in project()) {
        prop_assert!(Checked::new(project).is_ok());
    }
}
