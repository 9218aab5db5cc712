//! The page of the frame: its rails, each with section, ends and joint, and what it carries.

use bevy_egui::egui::{self, Align, ComboBox, RichText, Sense, TextEdit, Ui, WidgetInfo, WidgetType};

use super::{
    heading,
    inputs::{Column, action, choice, entry_ui, marked, reading, row},
    lists::Shopping,
};
use crate::{
    findings::Level,
    project::{
        Attachment, Fit, FrameLoads, JointKind, Project, Rail, RailFace, RailJoint, RailSection, Weight, joint_row,
        sections,
    },
    units::{Unit, show_cut, to_mm},
    viewer::{
        overlay,
        theme::{HALF, RHYTHM, SMALL, Theme},
    },
};

/// Width of a list that names rails or sections, points.
const WIDE: f32 = 128.0;
/// Connectors that a joint may have.
const PIECES: u32 = 8;

/// What is open of the frame.
#[derive(Debug, Default)]
pub struct Rails {
    /// The rail whose numbers are shown.
    pub open: Option<usize>,
    /// The one to which the column was scrolled.
    scrolled: Option<usize>,
    /// What the last change did to other rails, and how many there were after it.
    told: Option<(String, usize)>,
    /// What to cut and to buy.
    pub shopping: Shopping,
}

/// What is to be done with a rail.
enum Change {
    Copy,
    Mirror,
    Remove,
    Rename(String),
}

impl Column<'_> {
    /// Rails and loads.
    pub(super) fn frame_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        self.rails_ui(ui, draft);
        self.loads_ui(ui, draft);
        self.lists_ui(ui);
    }

    fn rails_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        let theme = self.theme;
        heading(ui, "Rails", theme);
        // Undone, it is no longer so.
        self.rails.scrolled.take_if(|scrolled| self.rails.open != Some(*scrolled));
        self.rails.told.take_if(|(_, count)| *count != draft.frame.len());
        if let Some((told, _)) = self.rails.told.clone() {
            marked(ui, Level::Borderline, &told, theme);
            if action(ui, "Understood", theme).clicked() {
                self.rails.told = None;
            }
        }
        let mut change = None;
        for index in 0..draft.frame.len() {
            let rail = &draft.frame[index];
            let open = self.rails.open == Some(index);
            let note = format!("{}, {}", RailSection::of(rail).name, Unit::Millimetre.show(to_mm(rail.length())));
            let entry = entry_ui(ui, &rail.name, &note, open, theme);
            if self.document.faults().iter().any(|fault| fault.path.starts_with(&format!("frame[{index}]"))) {
                let at = entry.rect.right_center() - egui::vec2(8.0, 0.0);
                overlay::mark(ui.painter(), at, Level::Outside, theme);
            }
            if entry.clicked() {
                self.rails.open = (!open).then_some(index);
                self.rails.told = None;
            }
            if open {
                // It may have been opened in the view.
                if self.rails.scrolled.replace(index) != Some(index) {
                    entry.scroll_to_me(Some(Align::TOP));
                }
                let asked = ui.push_id(("rail", index), |ui| self.rail_ui(ui, draft, index)).inner;
                change = asked.map(|asked| (index, asked)).or(change);
                ui.add_space(RHYTHM);
            }
        }
        ui.add_space(HALF);
        if action(ui, "Add a rail", theme).clicked() {
            // Beside the last one, which it is a copy of.
            if draft.frame.is_empty() {
                draft.frame.push(Rail::between("left base", [40.0, 80.0], [0.0, 250.0, 40.0], [1400.0, 250.0, 40.0]));
            } else {
                draft.copy_rail(draft.frame.len() - 1);
            }
            self.rails.open = Some(draft.frame.len() - 1);
        }
        if let Some((index, change)) = change {
            self.change(draft, index, change);
        }
    }

    fn change(&mut self, draft: &mut Project, index: usize, change: Change) {
        self.rails.told = None;
        match change {
            Change::Copy => draft.copy_rail(index),
            Change::Mirror => draft.mirror_rail(index),
            Change::Remove => {
                let name = draft.frame[index].name.clone();
                let hung = draft.remove_rail(index);
                self.rails.open = None;
                self.rails.told = told(&name, &hung).map(|told| (told, draft.frame.len()));
                return;
            }
            Change::Rename(name) => {
                if draft.rename_rail(index, &name).is_none() {
                    let told = format!("Another rail is called “{name}”: the name stays as it was.");
                    self.rails.told = Some((told, draft.frame.len()));
                }
                return;
            }
        }
        self.rails.open = Some(draft.frame.len() - 1);
    }

    /// Everything about one rail.
    fn rail_ui(&self, ui: &mut Ui, draft: &mut Project, index: usize) -> Option<Change> {
        let theme = self.theme;
        let mut change = name_ui(ui, "Name", &draft.frame[index].name).map(Change::Rename);
        self.section_ui(ui, draft, index);
        for end in 0..2 {
            ui.push_id(end, |ui| self.end_ui(ui, draft, index, end));
        }
        part_heading(ui, "Along itself", theme);
        self.numbers_ui(ui, draft, &format!("frame[{index}].roll_deg"));
        let rail = &draft.frame[index];
        reading(ui, "Length", &show_cut(to_mm(rail.length())), theme);
        reading(ui, "Mass", &format!("{:.2} kg", rail.length() * RailSection::of(rail).kg_per_m), theme);
        self.joint_ui(ui, draft, index);
        ui.add_space(HALF);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = RHYTHM;
            for (text, hint, asked) in [
                ("Copy", "Beside this one", Change::Copy),
                ("Mirror", "Across the middle of the rig: left becomes right", Change::Mirror),
                ("Remove", "What hangs on it stays where it is", Change::Remove),
            ] {
                if action(ui, text, theme).on_hover_text(hint).clicked() {
                    change = Some(asked);
                }
            }
        });
        change
    }

    /// The section: a row of the table, or a size of one's own.
    fn section_ui(&self, ui: &mut Ui, draft: &mut Project, index: usize) {
        let rail = &mut draft.frame[index];
        let own = RailSection::of(rail);
        let mut now = sections().iter().position(|row| row.name == own.name);
        let before = now;
        let names = sections().iter().enumerate().map(|(at, row)| (Some(at), row.name.as_str()));
        let names: Vec<_> = names.chain([(None, "Another size")]).collect();
        pick_ui(ui, "Section", &mut now, &names);
        if now != before {
            let lies = rail.section_mm[0] > rail.section_mm[1];
            rail.section = now.map(|at| sections()[at].name.clone());
            rail.section_mm = match now.map(|at| sections()[at].size_mm()) {
                // On the same side as before.
                Some([small, large]) => {
                    if lies {
                        [large, small]
                    } else {
                        [small, large]
                    }
                }
                // One that is in no row, to begin with.
                None => rail.section_mm.map(|size| size + 1.0),
            };
        }
        if now.is_none() {
            self.numbers_ui(ui, draft, &format!("frame[{index}].section_mm"));
        } else if (rail.section_mm[0] - rail.section_mm[1]).abs() > 0.5 {
            let mut lies = rail.section_mm[0] > rail.section_mm[1];
            // Of a rail that stands, the first side lies across the rig.
            let stands = rail.axes()[(2, 2)].abs() > 0.9;
            let words = if stands { ["fore and aft", "across"] } else { ["upright", "level"] };
            choice(ui, "Its wide side", &mut lies, &[(false, words[0]), (true, words[1])]);
            if lies != (rail.section_mm[0] > rail.section_mm[1]) {
                rail.section_mm.swap(0, 1);
            }
        }
        let sure = if own.sure == "estimated" { ", estimated" } else { "" };
        let note = format!("{:.2} kg/m, slot {}, {}{sure}", own.kg_per_m, own.slot_mm, own.bolt);
        ui.label(RichText::new(note).size(SMALL).color(self.theme.quiet));
    }

    /// An end: a place of its own, or one on another rail.
    fn end_ui(&self, ui: &mut Ui, draft: &mut Project, index: usize, end: usize) {
        let theme = self.theme;
        let name = ["from", "to"][end];
        end_heading(ui, end, theme);
        let on = draft.frame[index].attachments()[end].cloned();
        let carrier_at = |on: &Attachment| draft.frame.iter().position(|rail| rail.name == on.rail);
        let before = on.as_ref().map(carrier_at);
        let mut now = before;
        let mut names = vec![(None, "nothing")];
        let offered: Vec<usize> = (0..draft.frame.len()).filter(|&at| draft.can_hang(index, at)).collect();
        names.extend(offered.iter().map(|&at| (Some(Some(at)), draft.frame[at].name.as_str())));
        if let Some((None, on)) = before.zip(on.as_ref()) {
            names.push((Some(None), on.rail.as_str()));
        }
        pick_ui(ui, "Hangs on", &mut now, &names);
        if now != before {
            match now {
                Some(Some(carrier)) => draft.hang_rail(index, end, carrier),
                Some(None) => {}
                None => *end_of(&mut draft.frame[index], end) = None,
            }
            return;
        }
        let Some(on) = on else {
            self.numbers_ui(ui, draft, &format!("frame[{index}].{name}_mm"));
            return;
        };
        let slots = before.flatten().map_or(1, |carrier| draft.frame[carrier].slots(on.side));
        if let Some(on) = end_of(&mut draft.frame[index], end) {
            choice(ui, "Its side", &mut on.side, &RailFace::ALL.map(|face| (face, face.word())));
            if slots > 1 || on.slot > 0 {
                let numbers: Vec<String> = (1..=slots.max(on.slot)).map(|slot| slot.to_string()).collect();
                let words: Vec<(u32, &str)> =
                    [(0, "middle")].into_iter().chain((1..).zip(numbers.iter().map(String::as_str))).collect();
                choice(ui, "Slot, from below or right", &mut on.slot, &words);
            }
            choice(ui, "It", &mut on.fit, &[(Fit::Against, "stands against"), (Fit::Across, "lies across")]);
        }
        self.numbers_ui(ui, draft, &format!("frame[{index}].{name}_on"));
    }

    /// How the ends are joined to what they meet.
    fn joint_ui(&self, ui: &mut Ui, draft: &mut Project, index: usize) {
        part_heading(ui, "Joints of its ends", self.theme);
        let rail = &mut draft.frame[index];
        let mut kind = rail.joined().kind;
        let words = [
            (JointKind::Bracket, "brackets"),
            (JointKind::EndToFace, "end screws"),
            (JointKind::Butt, "hidden connector"),
            (JointKind::Pivot, "pivot bracket"),
        ];
        pick_ui(ui, "Held by", &mut kind, &words);
        let mut joint = RailJoint { kind, ..rail.joined() };
        let numbers: Vec<String> = (1..=PIECES).map(|count| count.to_string()).collect();
        let usual = format!("usual ({})", joint_row(kind).pieces);
        let mut counts: Vec<(Option<u32>, &str)> = vec![(None, &usual)];
        counts.extend((1..).map(Some).zip(numbers.iter().map(String::as_str)));
        choice(ui, "Pieces of each", &mut joint.pieces, &counts);
        let mut measured = joint.turn_nm_per_rad.is_some();
        choice(ui, "Stiffness", &mut measured, &[(false, "usual"), (true, "measured")]);
        if measured != joint.turn_nm_per_rad.is_some() {
            joint.turn_nm_per_rad = measured.then(|| joint_row(kind).turn_nm_per_rad);
        }
        if joint != rail.joined() {
            // What is as usual need not be said.
            rail.joint = (joint != RailJoint::default()).then_some(joint);
        }
        self.numbers_ui(ui, draft, &format!("frame[{index}].joint."));
    }

    /// What the frame carries.
    fn loads_ui(&self, ui: &mut Ui, draft: &mut Project) {
        let theme = self.theme;
        heading(ui, "What it carries", theme);
        if draft.loads.is_none() {
            let usual = "You, seat, wheel unit and pedals of usual masses.";
            ui.add(egui::Label::new(RichText::new(usual).size(SMALL).color(theme.quiet)).wrap());
            if action(ui, "Say masses and forces…", theme).clicked() {
                draft.loads = Some(FrameLoads::default());
            }
            return;
        }
        for name in ["wheel_torque_nm", "wheel_pull_n", "wheel_unit_kg", "seat_kg", "pedals_kg", "floor_friction"] {
            self.numbers_ui(ui, draft, &format!("loads.{name}"));
        }
        let mut removed = None;
        let count = draft.loads.as_ref().map_or(0, |loads| loads.weights.len());
        for index in 0..count {
            if let Some(weight) = draft.loads.as_mut().and_then(|loads| loads.weights.get_mut(index)) {
                part_heading(ui, &weight.name, theme);
                row(ui, "Name", |ui| {
                    ui.add(TextEdit::singleline(&mut weight.name).desired_width(WIDE));
                });
            }
            self.numbers_ui(ui, draft, &format!("loads.weights[{index}]."));
            if action(ui, "Remove", theme).on_hover_text("Take this weight off").clicked() {
                removed = Some(index);
            }
        }
        let Some(loads) = &mut draft.loads else { return };
        if let Some(index) = removed {
            loads.weights.remove(index);
        }
        ui.add_space(HALF);
        if action(ui, "Add a weight", theme).on_hover_text("A screen, a computer, a tray").clicked() {
            let mut names = (1..).map(|number| format!("Weight {number}"));
            let name = names.find(|name| loads.weights.iter().all(|weight| weight.name != *name));
            // About where a screen stands.
            loads.weights.push(Weight { name: name.unwrap_or_default(), kg: 5.0, at_mm: [1300.0, 0.0, 1000.0] });
        }
        if action(ui, "Back to usual loads", theme).clicked() {
            draft.loads = None;
        }
    }
}

fn end_of(rail: &mut Rail, end: usize) -> &mut Option<Attachment> {
    if end == 0 { &mut rail.from_on } else { &mut rail.to_on }
}

/// What taking a rail away did to those that hung on it.
fn told(name: &str, hung: &[String]) -> Option<String> {
    let (stay, ends) = match hung.len() {
        0 => return None,
        1 => ("stays where it was", "its end has"),
        _ => ("stay where they were", "their ends have"),
    };
    let names: Vec<String> = hung.iter().map(|name| format!("“{name}”")).collect();
    Some(format!("{} hung on “{name}” and {stay}: {ends} a place now.", names.join(", ")))
}

/// A small heading within an open entry.
fn part_heading(ui: &mut Ui, text: &str, theme: &Theme) {
    ui.add_space(HALF);
    ui.label(RichText::new(text).size(SMALL).color(theme.quiet));
}

/// The heading of an end, with the mark that it has in the view.
fn end_heading(ui: &mut Ui, end: usize, theme: &Theme) {
    ui.add_space(HALF);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = HALF;
        let (rect, _) = ui.allocate_exact_size(egui::vec2(12.0, 14.0), Sense::hover());
        let fill = if end == 0 { theme.accent } else { theme.paper };
        ui.painter().circle(rect.center(), 4.0, fill, egui::Stroke::new(1.5, theme.accent));
        ui.label(RichText::new(["One end", "Other end"][end]).size(SMALL).color(theme.quiet));
    });
}

/// A name that is taken once it is typed to its end: on the way there it may be another's.
pub(super) fn name_ui(ui: &mut Ui, label: &str, current: &str) -> Option<String> {
    let id = ui.id().with(("name", label));
    let mut text = ui.data(|data| data.get_temp::<String>(id)).unwrap_or_else(|| current.to_owned());
    let mut entered = None;
    row(ui, label, |ui| {
        let response = ui.add(TextEdit::singleline(&mut text).desired_width(WIDE));
        if response.has_focus() {
            ui.data_mut(|data| data.insert_temp(id, text.clone()));
        } else {
            ui.data_mut(|data| data.remove_temp::<String>(id));
            let trimmed = text.trim();
            if response.lost_focus() && trimmed != current && !trimmed.is_empty() {
                entered = Some(trimmed.to_owned());
            }
        }
    });
    entered
}

/// A choice between names that may be long.
pub(super) fn pick_ui<T: Copy + PartialEq>(ui: &mut Ui, label: &str, value: &mut T, words: &[(T, &str)]) {
    row(ui, label, |ui| {
        let now = words.iter().find(|(each, _)| each == value).map_or("", |(_, word)| word);
        let list = ComboBox::from_id_salt(label).width(WIDE).truncate().selected_text(now).show_ui(ui, |ui| {
            for (each, word) in words {
                ui.selectable_value(value, *each, *word);
            }
        });
        list.response.widget_info(|| WidgetInfo::labeled(WidgetType::ComboBox, true, format!("{label}: {now}")));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_hung_on_a_rail_is_told_by_name() {
        assert_eq!(told("left base", &[]), None);
        let one = told("left base", &["rear strip".to_owned()]).unwrap();
        assert_eq!(one, "“rear strip” hung on “left base” and stays where it was: its end has a place now.");
        let two = told("left base", &["a".to_owned(), "b".to_owned()]).unwrap();
        assert!(two.starts_with("“a”, “b” hung on “left base” and stay"), "{two}");
    }
}
