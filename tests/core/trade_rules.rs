//! Rules of the trade, each common practice with no published source.

use heelpoint::{
    check,
    findings::Level,
    project::{BackAngle, Checked, Project, Style},
    study::Study,
    units::{mm, to_mm},
};

fn study(change: impl FnOnce(&mut Project)) -> Study {
    let mut project = super::demo("closed_car").into_inner();
    change(&mut project);
    check(&Checked::new(project).unwrap())
}

fn value(study: &Study, key: &str) -> (f64, Level) {
    study.findings.iter().find(|finding| finding.key() == key).map(|finding| (finding.value, finding.level)).unwrap()
}

/// With straight arms and the shoulders on the seat the wrists rest on top of the rim: common practice, no published
/// source. By hand: the wheel is put where the top of the rim, raised by tube and hand, is one arm away from the
/// shoulder along the horizontal.
#[test]
fn arms_straight_and_wrists_on_the_rim_is_read_as_nothing_missing() {
    let first = study(|_| {});
    let bones = first.solved.body.skeleton;
    let shoulder = first.solved.rest.sitting.shoulders[0];
    let arm = bones.upper_arm + bones.forearm;
    let study = study(|project| {
        project.wheel.column_angle_deg = 0.0;
        let radius = 320.0 / 2.0 - 16.0;
        let over = 16.0 + to_mm(bones.palm);
        project.wheel.centre_mm = [to_mm(shoulder.x + arm), 0.0, to_mm(shoulder.z) - radius - over];
    });
    let (past, level) = value(&study, "arms_straight.left");
    assert!(past.abs() < 0.01, "{past}");
    assert_eq!(level, Level::Good);
    // 40 mm nearer the wrist lies past it by as much.
    let nearer = self::study(|project| {
        project.wheel.column_angle_deg = 0.0;
        let radius = 320.0 / 2.0 - 16.0;
        let over = 16.0 + to_mm(bones.palm);
        project.wheel.centre_mm = [to_mm(shoulder.x + arm) - 40.0, 0.0, to_mm(shoulder.z) - radius - over];
    });
    assert!((value(&nearer, "arms_straight.left").0 - 40.0).abs() < 0.01);
}

/// Knee about 130° on the brake: common practice, no published source. Two links by the cosine rule: with the hip to
/// ankle distance that makes 130° the finding reads 130° and is good; 105° and 150° are not.
#[test]
fn a_knee_of_130_on_the_brake_is_good_and_its_neighbours_far_off_are_not() {
    let knee_at = |shift: f64| {
        let study = study(|project| project.pedals.position_mm[0] += shift);
        let (value, level) = value(&study, "knee_brake.left");
        let bones = study.solved.body.skeleton;
        let sweep = study.solved.motion.pedal(heelpoint::project::PedalKind::Brake).unwrap();
        let working = study.solved.rig.pedals.get(heelpoint::project::PedalKind::Brake).unwrap().working_travel;
        let leg = &sweep.steps.iter().min_by(|a, b| (a.0 - working).abs().total_cmp(&(b.0 - working).abs())).unwrap().1;
        let d = (leg.ankle() - leg.hip()).norm();
        let cos = (bones.thigh.powi(2) + bones.shank.powi(2) - d * d) / (2.0 * bones.thigh * bones.shank);
        let by_hand = heelpoint::units::to_deg(cos.acos());
        assert!((by_hand - value).abs() < 0.6, "{by_hand} {value}");
        (value, level)
    };
    let (mut near, mut far) = (-150.0, 150.0);
    for _ in 0..30 {
        let middle = 0.5 * (near + far);
        if knee_at(middle).0 < 130.0 { near = middle } else { far = middle }
    }
    let (value, level) = knee_at(near);
    assert!((value - 130.0).abs() < 0.1 && level == Level::Good);
    assert_eq!(knee_at(near - 90.0).1, Level::Outside);
    assert_ne!(knee_at(near + 75.0).1, Level::Good);
}

/// Closed cars: cushion 32 to 40° and back 45 to 55°, both from the horizontal; road-type seats further upright:
/// common practice, no published source.
#[test]
fn a_closed_cars_seat_angles_have_the_trades_edges() {
    let levels = |cushion: f64, back: f64, style: Style| {
        let study = study(|project| {
            project.style = style;
            project.seat.cushion_angle_deg = cushion;
            project.seat.back_angle_deg = BackAngle::FromHorizontal(back);
        });
        (value(&study, "seat_cushion_angle").1, value(&study, "seat_back_angle").1)
    };
    assert_eq!(levels(32.0, 55.0, Style::ClosedCar), (Level::Good, Level::Good));
    assert_eq!(levels(40.0, 45.0, Style::ClosedCar), (Level::Good, Level::Good));
    assert_eq!(levels(31.0, 56.0, Style::ClosedCar), (Level::Borderline, Level::Borderline));
    assert_eq!(levels(36.0, 50.0, Style::Road), (Level::Outside, Level::Outside));
}

/// Both ways of reading a gauge say the same.
#[test]
fn a_back_angle_from_vertical_and_from_horizontal_give_one_posture() {
    let horizontal = study(|project| project.seat.back_angle_deg = BackAngle::FromHorizontal(52.0));
    let vertical = study(|project| project.seat.back_angle_deg = BackAngle::FromVertical(38.0));
    let gap = horizontal.solved.rest.sitting.h_point - vertical.solved.rest.sitting.h_point;
    assert!(gap.norm() < mm(1e-6));
}

/// Published edges of the bands: rim to fixed parts 79 and 81 mm about the 80 of Directive 80/720/EEC annex I, I.4;
/// breastbone to wheel centre 250 and 258 about the 254 of IIHS 1997; brake force above 500 N is a mark, not a fault.
#[test]
fn published_margins_fall_where_their_sources_say() {
    let project = super::demo("closed_car");
    let bands = heelpoint::project::Bands::of(&project);
    assert_eq!(Level::of(79.0, bands.get("rim_frame")), Level::Borderline);
    assert_eq!(Level::of(81.0, bands.get("rim_frame")), Level::Good);
    assert_eq!(Level::of(250.0, bands.get("chest_wheel")), Level::Borderline);
    assert_eq!(Level::of(258.0, bands.get("chest_wheel")), Level::Good);
    let loaded = study(|project| project.pedals.pedals[0].working_force_n = 900.0);
    assert_eq!(value(&loaded, "brake_force").1, Level::Borderline);
    assert_eq!(loaded.worst(), study(|_| {}).worst(), "a load marks and does not judge");
}
