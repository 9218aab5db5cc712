//! Everybody who drives the rig, side by side: each seated in it, seen from the left, with what is not good.

use bevy_egui::egui::{
    Align2, Color32, CursorIcon, FontId, Painter, Pos2, Rect, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo,
    WidgetType, pos2, vec2,
};

use crate::{
    body::BodySolid,
    findings::Level,
    geometry::{Side, TaperedCapsule, Vec3 as Point},
    study::Study,
    viewer::{
        overlay::{mark, outline},
        theme::{BODY, HALF, RHYTHM, SMALL, THICK, THIN, Theme, strong},
    },
};

/// Height of the panel, points.
pub(super) const TALL: f32 = 196.0;
/// Width of a tile, points.
const WIDE: f32 = 216.0;

/// Shows the panel; returns the name of the one who is to take the seat.
pub(super) fn drivers_ui(ui: &mut Ui, studies: &[Study], seated: &str, theme: &Theme) -> Option<String> {
    let mut sits = None;
    // All drawn to one scale.
    let span = studies.iter().map(extent).reduce(Rect::union)?;
    let tall = ui.available_height() - 2.0 * RHYTHM;
    ScrollArea::horizontal().auto_shrink([false, false]).show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 2.0 * RHYTHM;
            for study in studies {
                let name = &study.solved.project.driver.name;
                let (rect, response) = ui.allocate_exact_size(vec2(WIDE, tall), Sense::click());
                let response = response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("Take the seat");
                let here = name == seated;
                if here || response.hovered() {
                    ui.painter().rect_filled(rect, 3.0, theme.wash);
                }
                tile(&ui.painter().with_clip_rect(rect), rect.shrink(HALF), study, span, theme);
                if here {
                    ui.painter().rect_filled(
                        Rect::from_min_size(rect.min, vec2(2.0, rect.height())),
                        0.0,
                        theme.accent,
                    );
                }
                let of = |level| study.findings.iter().filter(|finding| finding.level == level).count();
                let words = format!("{name}: {} outside, {} borderline", of(Level::Outside), of(Level::Borderline));
                response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, here, words.clone()));
                if response.clicked() && !here {
                    sits = Some(name.clone());
                }
            }
        });
    });
    sits
}

/// What a side view takes, in metres: forward to the left, up.
fn extent(study: &Study) -> Rect {
    let mut span = Rect::NOTHING;
    for points in solids(study) {
        for point in points.1 {
            span.extend_with(point);
        }
    }
    span
}

/// What a shape in the drawing is.
#[derive(Clone, Copy)]
enum Kind {
    Rail,
    Far,
    Seat,
    Near,
    Wheel,
}

/// The convex outlines of everything, from the farthest to the nearest, in metres: forward to the left, down.
fn solids(study: &Study) -> Vec<(Kind, Vec<Pos2>)> {
    let solved = &study.solved;
    let (rig, rest) = (&solved.rig, &solved.rest);
    let flat = |point: Point| pos2(-point.x as f32, -point.z as f32);
    let hull = |corners: [Point; 8]| outline(corners.map(flat).to_vec());
    let round = |capsule: &TaperedCapsule| outline(rim_of(capsule, flat));
    let body = |solids: Vec<BodySolid>, kind| solids.into_iter().map(move |solid| (kind, solid.shape));
    let mut out: Vec<(Kind, Vec<Pos2>)> =
        rig.rails.iter().map(|rail| (Kind::Rail, hull(rail.solid.corners()))).collect();
    out.push((Kind::Rail, hull(rig.wheel.unit.corners())));
    out.push((Kind::Rail, hull(rig.pedals.base.corners())));
    for pedal in &rig.pedals.list {
        let (face, arm) = pedal.solids(&rig.pedals, 0.0);
        out.push((Kind::Rail, hull(face.corners())));
        out.push((Kind::Rail, round(&arm)));
    }
    let side = |side: Side, kind| {
        let index = side.index();
        let arm = body(solved.body.arm(&rest.arms[index], side), kind);
        let leg = body(solved.body.leg(&rest.legs[index], side), kind);
        leg.chain(arm).map(|(kind, shape)| (kind, round(&shape))).collect::<Vec<_>>()
    };
    out.extend(side(Side::Right, Kind::Far));
    out.extend(rig.seat.solids.iter().map(|(_, solid)| (Kind::Seat, hull(solid.corners()))));
    out.extend(body(solved.body.trunk(&rest.sitting), Kind::Near).map(|(kind, shape)| (kind, round(&shape))));
    out.extend(side(Side::Left, Kind::Near));
    // The rim from the side is a line from its highest to its lowest point.
    let centre = rig.wheel.X_WR.translation.vector;
    let top = rig.wheel.top_point() - centre;
    out.push((Kind::Wheel, vec![flat(centre + top), flat(centre - top)]));
    out
}

/// Points round both ends of a capsule.
fn rim_of(capsule: &TaperedCapsule, flat: impl Fn(Point) -> Pos2) -> Vec<Pos2> {
    let ends = [(capsule.a, capsule.radius_a), (capsule.b, capsule.radius_b)];
    ends.into_iter()
        .flat_map(|(centre, radius)| {
            let middle = flat(centre);
            (0..20).map(move |step| {
                let (sin, cos) = (std::f32::consts::TAU * step as f32 / 20.0).sin_cos();
                middle + vec2(cos, sin) * radius as f32
            })
        })
        .collect()
}

fn tile(painter: &Painter, rect: Rect, study: &Study, span: Rect, theme: &Theme) {
    let driver = &study.solved.project.driver;
    let name = painter.text(rect.min + vec2(HALF, 0.0), Align2::LEFT_TOP, &driver.name, strong(BODY), theme.ink);
    let mut at = rect.right_top() + vec2(-HALF, 0.0);
    for level in [Level::Borderline, Level::Outside] {
        let count = study.findings.iter().filter(|finding| finding.level == level).count();
        let words = painter.text(at, Align2::RIGHT_TOP, count, FontId::proportional(SMALL), theme.ink);
        mark(painter, words.left_center() - vec2(9.0, 0.0), level, theme);
        at = words.left_top() - vec2(22.0, 0.0);
    }
    let place = Rect::from_min_max(pos2(rect.left(), name.bottom() + HALF), rect.max);
    let scale = (place.width() / span.width()).min(place.height() / span.height());
    let on = |point: &Pos2| {
        pos2(place.center().x + (point.x - span.center().x) * scale, place.bottom() + (point.y - span.bottom()) * scale)
    };
    let fill = |kind| match kind {
        Kind::Rail => theme.hairline,
        Kind::Far => theme.body.colour.lerp_to_gamma(theme.panel, 0.45),
        Kind::Seat => theme.quiet.gamma_multiply(0.55),
        Kind::Near => theme.body.colour,
        Kind::Wheel => theme.ink,
    };
    for (kind, points) in solids(study) {
        let points: Vec<Pos2> = points.iter().map(on).collect();
        if let (Kind::Wheel, [a, b]) = (kind, &points[..]) {
            painter.line_segment([*a, *b], Stroke::new(THICK * 1.5, theme.ink));
            continue;
        }
        let line = match kind {
            Kind::Rail | Kind::Seat => Stroke::new(THIN, theme.quiet.gamma_multiply(0.6)),
            _ => Stroke::new(0.0, Color32::TRANSPARENT),
        };
        painter.add(Shape::convex_polygon(points, fill(kind), line));
    }
}
