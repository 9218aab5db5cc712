//! The page of reach: what is looked at, its zones, the section, the controls; and the hand on them in the view.

use bevy_egui::egui::{
    self, Align2, CursorIcon, DragValue, FontId, PointerButton, Pos2, Rect, RichText, ScrollArea, Sense, Slider, Ui,
    pos2, vec2,
};

use super::{Interface, heading, number::plain, stroke, word};
use crate::{
    findings::Level,
    geometry::{Side, Vec3},
    project::{Project, fields},
    reach::{ControlReach, FaceReach, Footing, Grip, Zone},
    units::{System, Unit, deg, mm_point, to_deg, to_mm, typed},
    viewer::{
        edit::Edit,
        overlay::{Pane, mark},
        reach::{Cut, Placing, ReachPage, Stage, Standing, Tint, Who, Wish, draw},
        scene::area,
        theme::{BODY, HALF, RHYTHM, SMALL, Theme, strong},
    },
    words::first_upper,
};

/// Width of the mark at the start of a row, points.
const GUTTER: f32 = 38.0;

/// Shows the column; what it changes of the project is sent as an edit.
pub(super) fn reach_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    ui.label(RichText::new("Reach").heading());
    let page = &mut *interface.reach;
    choices_ui(ui, page, interface.document.good().others.is_empty(), theme);
    let mut moved = None;
    ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        zones_ui(ui, page, theme);
        stage_ui(ui, page, theme);
        section_ui(ui, page, interface.shown.study.as_deref(), interface.view.standard.and_then(Cut::of), theme);
        if page.choice.hands {
            moved = controls_ui(ui, page, theme);
        } else {
            pedals_ui(ui, page, theme);
        }
        ui.add_space(2.0 * RHYTHM);
    });
    if let Some((control, at_mm)) = moved {
        let mut project = interface.document.draft().clone();
        put(&mut project, control, at_mm);
        interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
    }
}

/// Words of which one holds.
fn one_of<T: Copy + PartialEq>(ui: &mut Ui, value: &mut T, words: &[(T, &str)], theme: &Theme) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(1.5 * RHYTHM, 0.0);
        for (each, text) in words {
            if word(ui, text, value == each, theme).clicked() {
                *value = *each;
            }
        }
    });
}

fn choices_ui(ui: &mut Ui, page: &mut ReachPage, alone: bool, theme: &Theme) {
    let choice = &mut page.choice;
    ui.spacing_mut().item_spacing.y = 1.0;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
        for (hands, text) in [(true, "Hands"), (false, "Feet")] {
            if word(ui, text, choice.hands == hands, theme).clicked() {
                choice.hands = hands;
            }
        }
        ui.label(RichText::new("·").color(theme.quiet));
        for side in Side::BOTH {
            let [left, right] = choice.sides;
            let on = choice.sides[side.index()];
            let text = if side == Side::Left { "Left" } else { "Right" };
            // One of them stays.
            if word(ui, text, on, theme).clicked() && (!on || (left && right)) {
                choice.sides[side.index()] = !on;
            }
        }
    });
    if choice.hands {
        one_of(ui, &mut choice.grip, &Grip::ALL.map(|grip| (grip, capital(grip))), theme);
        let mut whose: Vec<(Who, &str)> = Who::ALL.map(|who| (who, who.word())).to_vec();
        // A driver alone shares with nobody.
        whose.retain(|(who, _)| *who != Who::Drivers || !alone);
        one_of(ui, &mut choice.who, &whose, theme);
        if choice.who != Who::People {
            let mut degrees = to_deg(choice.lean).round();
            ui.horizontal(|ui| {
                ui.label(RichText::new("Leans forward up to").color(theme.quiet));
                let drag = DragValue::new(&mut degrees).range(0.0..=60.0).speed(0.2).suffix("°").fixed_decimals(0);
                ui.add(drag.update_while_editing(false));
            });
            if (degrees - to_deg(choice.lean)).abs() > 0.4 {
                choice.lean = deg(degrees);
                choice.zones[Zone::Leaning as usize] = true;
            }
        }
    } else {
        let ways = [(Footing::HeelDown, "Heel down"), (Footing::Free, "Foot in the air")];
        one_of(ui, &mut choice.footing, &ways, theme);
    }
}

const fn capital(grip: Grip) -> &'static str {
    match grip {
        Grip::Full => "Full grip",
        Grip::Pinch => "Pinch",
        Grip::Fingertip => "Fingertip",
    }
}

/// The zones: each with its line, what it holds, and a click that shows or hides it.
fn zones_ui(ui: &mut Ui, page: &mut ReachPage, theme: &Theme) {
    let words = match page.who() {
        Who::You => "Zones",
        Who::Drivers => "Reached by all drivers",
        Who::People => "Reached by at least",
    };
    heading(ui, words, theme);
    ui.add_space(HALF);
    for &tint in page.choice.tints() {
        let litres = page.litres(tint);
        let empty = page.is_empty(tint);
        let Some(on) = page.choice.switch(tint) else { continue };
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 21.0), Sense::click());
        let response = response.on_hover_cursor(CursorIcon::PointingHand);
        if response.hovered() {
            ui.painter().rect_filled(rect.expand2(vec2(HALF, 0.0)), 3.0, theme.wash);
        }
        if response.clicked() {
            *on = !*on;
        }
        let on = *on;
        let at = Rect::from_center_size(pos2(rect.left() + 14.0, rect.center().y), vec2(27.0, 13.0));
        draw::swatch(ui.painter(), at, tint, on, theme);
        let colour = if on { theme.ink } else { theme.quiet };
        let words = first_upper(&tint.words());
        let name = pos2(rect.left() + GUTTER, rect.center().y);
        ui.painter().text(name, Align2::LEFT_CENTER, &words, FontId::proportional(BODY), colour);
        let holds = litres.map(|litres| format!("{litres:.0} l")).or_else(|| empty.then(|| "none".to_owned()));
        if let Some(text) = holds.filter(|_| on) {
            let right = rect.right_center();
            ui.painter().text(right, Align2::RIGHT_CENTER, text, FontId::proportional(SMALL), theme.quiet);
        }
        response.widget_info(|| egui::WidgetInfo::selected(egui::WidgetType::Checkbox, true, on, words.clone()));
    }
}

/// How far the work is, and the word that stops it.
fn stage_ui(ui: &mut Ui, page: &mut ReachPage, theme: &Theme) {
    ui.add_space(HALF);
    let step = page.step();
    let (words, share, wish) = match &page.stage {
        Stage::Working(what, share) => ((*what).to_owned(), Some(*share), Some((Wish::Stop, "Stop"))),
        Stage::Stopped => ("Stopped".to_owned(), None, Some((Wish::GoOn, "Go on"))),
        Stage::Done if step > 0.0 => (format!("Boundaries to {}", Unit::Millimetre.show(to_mm(step))), None, None),
        Stage::Idle | Stage::Done => (String::new(), None, None),
        Stage::Failed => ("Could not be worked out".to_owned(), None, None),
    };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    let painter = ui.painter().clone();
    painter.text(rect.left_top(), Align2::LEFT_TOP, words, FontId::proportional(SMALL), theme.quiet);
    if let Some(share) = share {
        bar(&painter, rect, share, theme);
    }
    if let Some((wish, text)) = wish
        && small_word(ui, rect, text, theme)
    {
        page.wish = Some(wish);
    }
}

/// A bar at the bottom of a line, filled to a share.
fn bar(painter: &egui::Painter, line: Rect, share: f32, theme: &Theme) {
    let y = line.bottom() - 5.0;
    let bar = Rect::from_min_max(pos2(line.left(), y), pos2(line.right(), y + 3.0));
    painter.rect_filled(bar, 1.5, theme.hairline);
    painter.rect_filled(bar.with_max_x(bar.left() + bar.width() * share.clamp(0.0, 1.0)), 1.5, theme.accent);
}

/// A small word at the right end of a line; true on a click.
fn small_word(ui: &mut Ui, line: Rect, text: &str, theme: &Theme) -> bool {
    let painter = ui.painter().clone();
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(SMALL), theme.accent);
    let at = Align2::RIGHT_TOP.anchor_size(line.right_top(), galley.size());
    let response = ui.interact(at.expand(3.0), ui.id().with(("word", text)), Sense::click());
    painter.galley(at.min, galley, theme.accent);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, text));
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// Where the section lies.
fn section_ui(
    ui: &mut Ui,
    page: &mut ReachPage,
    study: Option<&crate::study::Study>,
    of_view: Option<Cut>,
    theme: &Theme,
) {
    heading(ui, "Section", theme);
    ui.add_space(HALF);
    let Some(study) = study else { return };
    if let Some(cut) = of_view {
        ui.label(RichText::new(format!("{}, as the view shows it", cut.word())).color(theme.quiet));
    } else {
        let words = [(None, "None"), (Some(Cut::Side), "Side"), (Some(Cut::Top), "Top"), (Some(Cut::Front), "Front")];
        one_of(ui, &mut page.choice.cut, &words, theme);
    }
    let Some(cut) = of_view.or(page.choice.cut) else { return };
    let usual = page.usual_offset(cut, study);
    let mut at_mm = to_mm(page.choice.offset(cut).unwrap_or(usual)).round();
    let before = at_mm;
    let range = match cut {
        Cut::Side => -1000.0..=1000.0,
        Cut::Top => 0.0..=1800.0,
        Cut::Front => -400.0..=1800.0,
    };
    ui.add_space(HALF);
    ui.spacing_mut().slider_width = ui.available_width() - 84.0;
    ui.horizontal(|ui| {
        ui.add(Slider::new(&mut at_mm, range).show_value(false));
        let (unit, system) = (Unit::Millimetre, System::shown());
        let (bare, digits) = (system.bare(unit), usize::from(system == System::Inch));
        let drag = DragValue::new(&mut at_mm).speed(1.0).suffix(system.suffix(unit)).update_while_editing(false);
        ui.add(
            drag.custom_formatter(|value, _| plain(value / bare, digits))
                .custom_parser(|text| typed::read(text, unit, system).ok()),
        );
    });
    if (at_mm - before).abs() > 0.4 {
        page.choice.set_offset(cut, Some(at_mm * 1e-3));
    }
    ui.horizontal(|ui| {
        ui.label(RichText::new(cut.offset_word()).size(SMALL).color(theme.quiet));
        if page.choice.offset(cut).is_some() {
            let root = if page.choice.hands { "Back to the shoulder" } else { "Back to the hip" };
            let text = RichText::new(root).size(SMALL).color(theme.accent);
            let button = ui.add(egui::Button::new(text).frame(false));
            if button.on_hover_cursor(CursorIcon::PointingHand).clicked() {
                page.choice.set_offset(cut, None);
            }
        }
    });
}

/// The controls; returns one that is to be put somewhere else, mm.
fn controls_ui(ui: &mut Ui, page: &mut ReachPage, theme: &Theme) -> Option<(usize, [f64; 3])> {
    heading(ui, "Controls", theme);
    ui.add_space(HALF);
    if page.rows.is_empty() {
        let words = match page.stage {
            Stage::Working(..) => "Being asked",
            _ => "The project has none; add them on the page Controls",
        };
        ui.add(egui::Label::new(RichText::new(words).color(theme.quiet)).wrap());
        return None;
    }
    let mut moved = None;
    for index in 0..page.rows.len() {
        let row = page.rows[index].0.clone();
        let open = page.control == Some(index);
        if row_ui(ui, &control_row(page, index, &row), open, theme) {
            page.control = (!open).then_some(index);
            page.placing = Placing::No;
        }
        if open {
            moved = detail_ui(ui, page, index, &row, theme).or(moved);
        }
    }
    ui.add_space(HALF);
    let note = match page.who() {
        Who::You => {
            "Right: margin to the edge of the attainable zone. Wrist: towards the palm, towards the thumb. Drag a control \
             in the view to try another place."
        }
        Who::Drivers => "Right: margin to the edge of what all drivers attain.",
        Who::People => "Right: the share of people who reach it with their shoulders on the seat.",
    };
    ui.add(egui::Label::new(RichText::new(note).size(SMALL).color(theme.quiet)).wrap());
    moved
}

/// What a control's row says: of the one who sits, of all drivers, or of people.
fn control_row(page: &ReachPage, index: usize, row: &ControlReach) -> Row {
    let mm_words = |margin: Option<f64>| margin.map_or_else(|| "–".to_owned(), |mm| Unit::Millimetre.show(mm));
    let name = row.name.clone();
    match page.who() {
        Who::You => Row {
            name,
            zone: row.zone.into(),
            value: mm_words(row.margin_mm),
            lines: [
                ReachPage::zone_words(row.zone).to_owned(),
                format!(
                    "elbow {} · wrist {}, {}",
                    Unit::Degree.show(row.elbow_deg),
                    Unit::Degree.show(row.wrist_flexion_deg),
                    Unit::Degree.show(row.wrist_deviation_deg)
                ),
            ],
        },
        Who::Drivers => {
            let common = page.common.get(index).copied().flatten();
            let of_hand = format!("{} hand", row.hand.word());
            let words = match common {
                None if page.choice.sides[row.hand.index()] => "being asked".to_owned(),
                None => format!("choose the {of_hand} to see it"),
                Some(common) => {
                    common.zone.map_or_else(|| "not reached by all".to_owned(), |zone| format!("all: {}", zone.word()))
                }
            };
            Row {
                name,
                zone: common.map_or(Standing::Unknown, |common| common.zone.into()),
                value: mm_words(common.and_then(|common| common.margin).map(to_mm)),
                lines: [words, of_hand],
            }
        }
        Who::People => {
            let mut shares = page.sharing.iter().flat_map(|sharing| &sharing.controls);
            let share = shares.find(|(other, _)| *other == name).map(|(_, share)| *share);
            Row {
                name,
                zone: Standing::Unknown,
                value: share.map_or_else(|| "–".to_owned(), |share| format!("{share:.0} %")),
                lines: [
                    if share.is_some() { "of people reach it" } else { "being asked" }.to_owned(),
                    format!("{} hand", row.hand.word()),
                ],
            }
        }
    }
}

/// The pedals: each face in its zone, the worse of released and pressed first.
fn pedals_ui(ui: &mut Ui, page: &mut ReachPage, theme: &Theme) {
    heading(ui, "Pedals", theme);
    ui.add_space(HALF);
    if page.treads.is_empty() {
        ui.add(egui::Label::new(RichText::new("Being asked").color(theme.quiet)).wrap());
        return;
    }
    for index in 0..page.treads.len() {
        let row = page.treads[index].0.clone();
        let open = page.pedal == Some(index);
        let worst = row.worst();
        let way = |of: fn(&FaceReach) -> f64| {
            format!("{} to {}", Unit::Degree.show(of(&row.released)), Unit::Degree.show(of(&row.pressed)))
        };
        let told = Row {
            name: first_upper(row.name),
            zone: worst.zone.into(),
            value: worst.margin_mm.map_or_else(|| "–".to_owned(), |mm| Unit::Millimetre.show(mm)),
            lines: [
                format!("{} · {} foot", ReachPage::zone_words(worst.zone), row.foot.word()),
                format!("knee {}, ankle {}", way(|face| face.knee_deg), way(|face| face.ankle_deg)),
            ],
        };
        if row_ui(ui, &told, open, theme) {
            page.pedal = (!open).then_some(index);
        }
        if open {
            super::detail_frame(GUTTER, theme).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = HALF;
                ui.set_width(ui.available_width());
                for (word, face) in [("Released", &row.released), ("Pressed", &row.pressed)] {
                    ui.add(egui::Label::new(face_sentence(word, row.foot, face)).wrap());
                }
            });
        }
    }
    ui.add_space(HALF);
    let note = "The ball of the foot on the face, where on its height it gets best. Right: margin to the edge of the \
                attainable zone. Knee (180° straight) and ankle (shank to sole) from released to pressed.";
    ui.add(egui::Label::new(RichText::new(note).size(SMALL).color(theme.quiet)).wrap());
}

/// How a pedal's face is reached, in full.
fn face_sentence(word: &str, foot: Side, face: &FaceReach) -> String {
    let off = |margin: Option<f64>| margin.map(|margin| Unit::Millimetre.show(margin.abs()));
    let gets = match (face.zone, off(face.margin_mm), off(face.comfortable_margin_mm)) {
        (Some(Zone::Comfortable), _, Some(edge)) => format!("in comfort, {edge} inside its edge"),
        (Some(Zone::Comfortable), ..) => "in comfort".to_owned(),
        (Some(_), Some(edge), Some(comfort)) => format!("{edge} inside the edge; comfort ends {comfort} away"),
        (Some(_), Some(edge), None) => format!("{edge} inside the edge; nowhere in comfort"),
        (Some(zone), None, _) => zone.word().to_owned(),
        (None, edge, _) => {
            let beyond = edge.map_or_else(String::new, |edge| format!(", {edge} beyond the edge"));
            let cause = face.blocked_by.as_ref().map(|what| format!("; in the way: {what}"));
            let short = (face.short_mm > 0.0).then(|| format!("; {} short", Unit::Millimetre.show(face.short_mm)));
            format!("out of reach{beyond}{}", cause.or(short).unwrap_or_default())
        }
    };
    let over = match face.over_middle_mm {
        mm if mm > 0.5 => format!("{} over its middle", Unit::Millimetre.show(mm)),
        mm if mm < -0.5 => format!("{} under its middle", Unit::Millimetre.show(-mm)),
        _ => "on its middle".to_owned(),
    };
    format!(
        "{word}: your {} foot is there {gets}. The ball stands {over}; knee {}, ankle {}.",
        foot.word(),
        Unit::Degree.show(face.knee_deg),
        Unit::Degree.show(face.ankle_deg)
    )
}

/// What a row says of a control or a pedal.
struct Row {
    name: String,
    zone: Standing,
    value: String,
    lines: [String; 2],
}

/// One row: its mark, name and value, and two lines below. True on a click.
fn row_ui(ui: &mut Ui, row: &Row, open: bool, theme: &Theme) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 51.0), Sense::click());
    let response = response.on_hover_cursor(CursorIcon::PointingHand);
    let area = rect.expand2(vec2(HALF, 0.0));
    let painter = ui.painter().clone();
    if open || response.hovered() {
        painter.rect_filled(area, 3.0, theme.wash);
    }
    if open {
        painter.rect_filled(Rect::from_min_size(area.min, vec2(2.0, area.height())), 0.0, theme.accent);
    }
    let middle = pos2(rect.left() + 14.0, rect.top() + 12.0);
    match row.zone {
        Standing::In(zone) => {
            draw::swatch(&painter, Rect::from_center_size(middle, vec2(27.0, 13.0)), Tint::Zone(zone), true, theme);
        }
        Standing::Out => mark(&painter, middle, Level::Outside, theme),
        Standing::Unknown => {}
    }
    let left = rect.left() + GUTTER;
    let value = painter.layout_no_wrap(row.value.clone(), FontId::proportional(BODY), theme.ink);
    let mut name = egui::text::LayoutJob::simple(row.name.clone(), strong(BODY), theme.ink, f32::INFINITY);
    name.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - value.size().x - RHYTHM - left);
    painter.galley(pos2(left, rect.top() + 3.0), painter.layout_job(name), theme.ink);
    painter.galley(pos2(rect.right() - value.size().x, rect.top() + 3.0), value, theme.ink);
    for (line, y) in row.lines.iter().zip([20.0, 33.5]) {
        let line = line.clone();
        let mut line = egui::text::LayoutJob::simple(line, FontId::proportional(SMALL), theme.quiet, f32::INFINITY);
        line.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - left);
        painter.galley(pos2(left, rect.top() + y), painter.layout_job(line), theme.quiet);
    }
    response.widget_info(|| {
        let words = format!("{}: {}, {}", row.name, row.lines[0], row.value);
        egui::WidgetInfo::selected(egui::WidgetType::Button, true, open, words)
    });
    response.clicked()
}

/// All that is known of a control, and where it stands better; returns where it is to be put, mm.
fn detail_ui(
    ui: &mut Ui,
    page: &mut ReachPage,
    index: usize,
    row: &ControlReach,
    theme: &Theme,
) -> Option<(usize, [f64; 3])> {
    let mut moved = None;
    super::detail_frame(GUTTER, theme).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = HALF;
        ui.set_width(ui.available_width());
        let own = page.who() == Who::You;
        ui.add(egui::Label::new(if own { sentence(row) } else { shared_sentence(page, index, row) }).wrap());
        let cause = row.blocked_by.as_ref().map(|what| format!("In the way: {what}")).or_else(|| {
            (row.short_mm > 0.0).then(|| format!("Your arm falls {} short", Unit::Millimetre.show(row.short_mm)))
        });
        if let Some(cause) = cause.filter(|_| own) {
            ui.add(egui::Label::new(RichText::new(cause).color(theme.ink)).wrap());
        }
        match page.placing.clone() {
            Placing::Looking(control) if control == index => {
                let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
                let words = "Looking for the best place";
                ui.painter().text(rect.left_top(), Align2::LEFT_TOP, words, FontId::proportional(SMALL), theme.quiet);
                bar(ui.painter(), rect, page.searched, theme);
                if small_word(ui, rect, "Cancel", theme) {
                    page.placing = Placing::No;
                }
            }
            Placing::Nowhere(control) if control == index => {
                let words = "No place within reach is free of what moves there";
                ui.add(egui::Label::new(RichText::new(words).color(theme.ink)).wrap());
            }
            Placing::At(control, spot) if control == index => {
                ui.add(egui::Label::new(RichText::new(&spot.sentence).color(theme.ink)).wrap());
                ui.horizontal(|ui| {
                    if ui.button(RichText::new("Put it there").color(theme.accent)).clicked() {
                        moved = Some((index, spot.at_mm.map(f64::round)));
                        page.placing = Placing::No;
                    }
                    if ui.button("Close").clicked() {
                        page.placing = Placing::No;
                    }
                });
            }
            _ => {
                if ui.button(RichText::new("Where to put it").color(theme.accent)).clicked() {
                    page.placing = Placing::Looking(index);
                }
            }
        }
    });
    moved
}

/// What the row says in full of all drivers or of people.
fn shared_sentence(page: &ReachPage, index: usize, row: &ControlReach) -> String {
    let told = control_row(page, index, row);
    let hand = format!("with the {} hand", row.hand.word());
    if page.who() == Who::People {
        return if page.sharing.is_some() {
            format!("{} of people reach it {hand}, shoulders on the seat.", told.value)
        } else {
            "Nobody has been asked yet.".to_owned()
        };
    }
    match page.common.get(index).copied().flatten() {
        None => format!("Not worked out for the {} hand.", row.hand.word()),
        Some(common) => {
            let edge = common.margin.map(|margin| Unit::Millimetre.show(to_mm(margin.abs())));
            let edge = |word: &str| edge.as_ref().map_or_else(String::new, |far| format!(", {far} {word} the edge"));
            match common.zone {
                Some(zone) => format!("Every driver gets there {hand} ({}){}.", zone.word(), edge("inside")),
                None => format!("Not every driver gets there {hand}{}.", edge("beyond")),
            }
        }
    }
}

/// What the row says, in full.
fn sentence(row: &ControlReach) -> String {
    let hand = format!("Your {} hand", row.hand.word());
    let off = |margin: Option<f64>| margin.map(|margin| Unit::Millimetre.show(margin.abs()));
    let (attained, comfort) = (off(row.margin_mm), off(row.comfortable_margin_mm));
    let beyond =
        attained.as_ref().map_or_else(String::new, |far| format!(", {far} beyond what it attains on the seat"));
    match row.zone {
        Some(Zone::Comfortable) => {
            let edge = comfort.map_or_else(String::new, |far| format!(", {far} inside the edge of comfort"));
            format!("{hand} works it in comfort{edge}.")
        }
        Some(Zone::Attainable) => {
            let edge = attained.map_or_else(String::new, |far| format!(", {far} inside the edge"));
            let outside = comfort.map_or_else(String::new, |far| format!("; comfort ends {far} away"));
            format!("{hand} gets there with the shoulder on the seat{edge}{outside}.")
        }
        Some(Zone::ShoulderLift) => format!("{hand} gets there with the shoulder lifted{beyond}."),
        Some(Zone::Leaning) => format!("{hand} gets there with the trunk leaning forward{beyond}."),
        None => format!("{hand} does not get there{beyond}."),
    }
}

/// Puts a control to a place, inside the range of its numbers.
fn put(project: &mut Project, control: usize, at_mm: [f64; 3]) {
    let Some(control_at) = project.controls.get_mut(control) else { return };
    control_at.at_mm = at_mm;
    let path = format!("controls[{control}].at_mm[");
    fields(project, &mut |field| {
        if field.path.starts_with(&path) {
            *field.value = field.value.clamp(field.range.0, field.range.1);
        }
    });
}

/// What the pointer does in the view while the page is open. Returns true where it has a control or a section in hand.
pub(super) fn hands_on(
    ui: &Ui,
    response: &egui::Response,
    pane: &Pane,
    interface: &mut Interface,
    handle: Option<(Pos2, egui::Vec2)>,
) -> bool {
    let Some(study) = interface.shown.study.clone() else { return false };
    let page = &mut *interface.reach;
    let cut = page.cut_in(&interface.view);
    if response.drag_started_by(PointerButton::Primary)
        && let Some(at) = ui.input(|input| input.pointer.press_origin())
    {
        let places = study.solved.rig.controls.iter().map(|control| pane.at(control.at));
        let near = places
            .enumerate()
            .filter(|_| page.choice.hands)
            .filter_map(|(index, place)| Some((index, place?.distance(at))))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, off)| *off < draw::GRAB);
        if let Some((index, _)) = near {
            page.dragged = Some((index, study.solved.rig.controls[index].at));
            page.control = Some(index);
        } else if handle.is_some_and(|(handle, _)| handle.distance(at) < draw::GRAB * 1.5) {
            page.dragged_cut = cut;
        }
    }
    if !response.dragged() && !response.drag_stopped() {
        page.dragged = None;
        page.dragged_cut = None;
    }
    let drag = response.drag_delta();
    if let Some((index, _)) = page.dragged {
        page.leave();
        if drag != egui::Vec2::ZERO
            && let Some(now) = response.interact_pointer_pos()
            && let Some(control) = interface.document.draft().controls.get(index)
        {
            let old = mm_point(control.at_mm);
            let normal = cut.map_or_else(|| interface.view.eye.axes()[2], Cut::normal);
            if let Some(to) = dragged(pane, old, normal, now - drag, now) {
                let before = control.at_mm;
                // What the drag does not move keeps its fractions.
                let at_mm = std::array::from_fn(|i| {
                    let moved = to_mm(to[i]);
                    if (moved - before[i]).abs() < 1e-6 { before[i] } else { (moved * 10.0).round() / 10.0 }
                });
                let mut project = interface.document.draft().clone();
                put(&mut project, index, at_mm);
                page.dragged = Some((index, mm_point(project.controls[index].at_mm)));
                interface.edits.write(Edit::Draft { project: Box::new(project), stroke: stroke(ui.ctx()) });
            }
        }
        return true;
    }
    if let (Some(cut), Some((_, along))) = (page.dragged_cut, handle) {
        page.leave();
        if drag != egui::Vec2::ZERO && along.length_sq() > 1.0 {
            let by = f64::from(drag.dot(along) / along.length_sq());
            let at = page.choice.offset(cut).unwrap_or_else(|| page.usual_offset(cut, &study));
            page.choice.set_offset(cut, Some((at + by).clamp(-1.5, 2.5)));
        }
        return true;
    }
    false
}

/// Where a point goes that is dragged from one place of the screen to another in a plane through it.
fn dragged(pane: &Pane, point: Vec3, normal: Vec3, from: Pos2, to: Pos2) -> Option<Vec3> {
    let on = |at: Pos2| {
        let at = at - pane.rect.min;
        let (eye, way) = pane.eye.ray([f64::from(at.x), f64::from(at.y)], area(pane.rect));
        let slope = way.dot(&normal);
        // A plane seen nearly on edge would throw it far away.
        (slope.abs() > 0.1).then(|| eye + way * ((point - eye).dot(&normal) / slope))
    };
    let moved = on(to)? - on(from)?;
    // Along the plane only.
    Some(point + moved - normal * moved.dot(&normal))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::viewer::camera::{Bounds, Eye, StandardView};

    #[test]
    fn a_control_dragged_in_a_parallel_view_follows_the_pointer_and_keeps_its_depth() {
        let rect = Rect::from_min_size(pos2(200.0, 40.0), vec2(840.0, 640.0));
        let eye = Eye::standard(StandardView::Side, &Bounds::default(), 840.0 / 640.0);
        let pane = Pane::open(rect, eye);
        let point = Vec3::new(0.5, -0.3, 0.6);
        let from = pane.at(point).unwrap();
        let to = from + vec2(-60.0, -25.0);
        let moved = dragged(&pane, point, Vec3::y(), from, to).unwrap();
        assert!(pane.at(moved).unwrap().distance(to) < 0.01);
        assert!((moved.y - point.y).abs() < 1e-12, "it stays in its plane");
        assert!(moved.x > point.x && moved.z > point.z, "forward is to the left and up is up");
    }

    #[test]
    fn a_control_stays_inside_the_range_of_its_numbers() {
        let mut project = crate::project::parse(crate::command::DEMO).unwrap().into_inner();
        put(&mut project, 0, [1e9, -1e9, 500.0]);
        assert!(crate::project::Checked::new(project.clone()).is_ok(), "{:?}", project.controls[0].at_mm);
        assert!((project.controls[0].at_mm[2] - 500.0).abs() < 1e-12);
    }
}
