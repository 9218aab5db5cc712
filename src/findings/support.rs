//! What carries the body.

use super::{Figure, Place};
use crate::{
    geometry::{Side, Vec3},
    posture::{Moment, Sitting},
    project::Pelvis,
    study::Solved,
    units::{Unit, mm, to_mm},
};

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let mut out = Vec::new();
    let show = |value: f64| Unit::Millimetre.show(value);
    let (body, rig, sitting) = (&study.body, &study.rig, &study.rest.sitting);
    let seat = &rig.seat;
    let along_back =
        |height: f64, off: f64| seat.X_WK.translation.vector + seat.X_WK.rotation * Vec3::new(off, 0.0, height);
    let mut figure = |id, side, value, sentence, place, moment, parts: &[&str]| {
        let parts = parts.iter().map(|part| (*part).to_owned()).collect();
        out.push(Figure { id, side, item: None, value, sentence, place, moment, parts });
    };

    let [gap, height] = sitting.lumbar_gap;
    figure(
        "lumbar_gap",
        None,
        to_mm(gap),
        lower_back(sitting),
        Place::Gap {
            from: along_back(height, gap + seat.back_surface(height)),
            to: along_back(height, seat.back_surface(height)),
        },
        Moment::REST,
        &["lower back", "seat back"],
    );

    if body.pelvis == Pelvis::Slouched {
        let off = to_mm(sitting.hips_off);
        figure(
            "hips_contact",
            None,
            off,
            format!("Slouched you sit {} ahead of where the back would carry your hips.", show(off)),
            Place::Gap {
                from: sitting.h_point,
                to: sitting.h_point - seat.X_WK.rotation * Vec3::x() * sitting.hips_off,
            },
            Moment::REST,
            &["hips", "seat back"],
        );
    }

    // What pushes the torso off the back, the shoulders with it.
    let pushed = to_mm(sitting.ribs_off);
    for side in Side::BOTH {
        let arm = &study.rest.arms[side.index()];
        let reached = to_mm(arm.protraction);
        let off = reached + pushed;
        figure(
            "shoulder_contact",
            Some(side),
            off,
            if off < 0.5 {
                format!("Your {} shoulder stays on the seat with the hand on the wheel.", side.word())
            } else if reached < 0.5 {
                format!("Your {} shoulder is pushed {} off the seat by {}.", side.word(), show(off), pusher(sitting))
            } else if pushed < 0.5 {
                format!("Your {} shoulder leaves the seat by {} to reach the wheel.", side.word(), show(off))
            } else {
                format!(
                    "Your {} shoulder leaves the seat by {}: {} to reach the wheel, {} pushed by {}.",
                    side.word(),
                    show(off),
                    show(reached),
                    show(pushed),
                    pusher(sitting)
                )
            },
            Place::Gap {
                from: arm.shoulder(),
                to: sitting.shoulders[side.index()] - seat.X_WK.rotation * Vec3::x() * sitting.ribs_off,
            },
            Moment::REST,
            &[side.word(), "shoulder"],
        );
    }

    // Widths: hips between the cushion's bolsters, shoulders between the wings.
    let clothes = 2.0 * to_mm(body.worn.clothes);
    let clothed = if clothes > 0.0 { ", clothes included" } else { "" };
    let hips = to_mm(body.dimensions.m("hipbreadthsitting")) + clothes;
    let room = seat.seat.cushion.width_mm - hips;
    figure(
        "hip_width",
        None,
        room,
        if room >= 0.0 {
            format!("The shell is {} wider than your hips, {} on each side{clothed}.", show(room), show(room / 2.0))
        } else {
            let raised = to_mm(sitting.on_bolsters);
            let then = if raised < 0.5 {
                "it squeezes them".to_owned()
            } else {
                format!("its bolsters carry you {} too high", show(raised))
            };
            format!("The shell is {} narrower than your hips{clothed}: {then}.", show(-room))
        },
        Place::Point { at: sitting.h_point },
        Moment::REST,
        &["hips", "cushion"],
    );
    if let Some(wings) = seat.seat.wings {
        let shoulders = to_mm(body.dimensions.m("bideltoidbreadth")) + clothes;
        let room = wings.width_mm - shoulders;
        figure(
            "shoulder_width",
            None,
            room,
            if room >= 0.0 {
                format!("The wings stand {} further apart than your shoulders are wide{clothed}.", show(room))
            } else {
                let push = to_mm(sitting.by_wings);
                let then = if push < 0.5 {
                    "they squeeze them".to_owned()
                } else {
                    format!("they push you {} off the back", show(push))
                };
                format!("The wings are {} too narrow for your shoulders{clothed}: {then}.", show(-room))
            },
            Place::Point { at: (sitting.shoulders[0] + sitting.shoulders[1]) / 2.0 },
            Moment::REST,
            &["shoulders", "wings"],
        );
    }
    let above = to_mm(seat.top() - sitting.shoulder_height);
    figure(
        "back_height",
        None,
        above,
        if above >= 0.0 {
            format!("The back reaches {} above your shoulder joints.", show(above))
        } else {
            format!("The back ends {} below your shoulder joints.", show(-above))
        },
        Place::Gap { from: along_back(sitting.shoulder_height, 0.0), to: along_back(seat.top(), 0.0) },
        Moment::REST,
        &["shoulder blades", "seat back"],
    );

    // Cushion length: from its front edge to the back of the knee, along the cushion.
    let popliteal = body.dimensions.m("buttockpopliteallength") - body.skeleton.buttock_to_hip;
    let along = seat.X_WS.rotation * Vec3::x();
    let edge = seat.X_WS.translation.vector + along * mm(seat.seat.cushion.length_mm);
    let hip_along = (sitting.h_point - seat.X_WS.translation.vector).dot(&along);
    let free = to_mm(hip_along + popliteal) - seat.seat.cushion.length_mm;
    figure(
        "thigh_support",
        None,
        free,
        if free >= 0.0 {
            format!("The cushion ends {} before the backs of your knees.", show(free))
        } else {
            format!("The cushion reaches {} past the backs of your knees.", show(-free))
        },
        Place::Gap { from: edge + along * mm(free), to: edge },
        Moment::REST,
        &["thighs", "cushion"],
    );
    out
}

/// What the back of the seat does for the lower back, and the pad that would fill what stays free.
fn lower_back(sitting: &Sitting) -> String {
    let show = |value: f64| Unit::Millimetre.show(to_mm(value));
    let [gap, height] = sitting.lumbar_gap;
    let pad = sitting.wanted_pad;
    let fills = format!(
        "a pad {} thick and about {} long with its middle {} up the back fills it",
        show(pad.thickness),
        Unit::Millimetre.show((to_mm(pad.length) / 10.0).round() * 10.0),
        show(pad.height)
    );
    let touches = sitting.on_pad > 0.0;
    if gap < mm(0.5) {
        let by = if touches { "the lumbar pad" } else { "the seat back" };
        format!("Your lower back lies on {by} all the way up.")
    } else if touches {
        format!(
            "Your lower back rests on the lumbar pad; the largest gap beside it is {}, {} up the back: {fills}.",
            show(gap),
            show(height)
        )
    } else {
        format!("Behind your lower back stays a gap of {}, largest {} up the back: {fills}.", show(gap), show(height))
    }
}

/// What pushes the torso off the back.
fn pusher(sitting: &Sitting) -> &'static str {
    match (sitting.by_wings >= mm(0.5), sitting.ribs_off - sitting.by_wings >= mm(0.5)) {
        (true, true) => "wings and lumbar pad",
        (true, false) => "the wings",
        _ => "the lumbar pad",
    }
}
