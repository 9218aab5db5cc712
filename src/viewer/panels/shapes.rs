//! Parts whose shape comes from a file, on the page of the part that each stands for.

use bevy_egui::egui::{self, RichText, Ui};

use super::{
    frame::{name_ui, pick_ui},
    heading,
    inputs::{Column, action, choice, marked, reading},
};
use crate::{
    findings::Level,
    project::{Axis, LengthUnit, Loaded, Page, Project, Shape, StandsFor, likelier_unit, shape_notes},
    units::{show_lengths, to_mm},
    viewer::{
        bring::{State, folder},
        files::{FileCommand, Purpose},
        theme::{HALF, SMALL, Theme},
    },
};

/// What a shape can stand for, in words.
const ROLES: [(StandsFor, &str); 6] = [
    (StandsFor::Seat, "seat"),
    (StandsFor::Rim, "rim"),
    (StandsFor::WheelUnit, "wheel unit"),
    (StandsFor::PedalPlate, "pedal plate"),
    (StandsFor::Screen, "screen"),
    (StandsFor::Other, "something else"),
];

impl Column<'_> {
    /// The shapes of this page, and the way to bring one.
    pub(super) fn shapes_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        let Some(usual) = StandsFor::ALL.iter().rposition(|&role| role.page() == *self.page) else { return };
        // A rim rather than a wheel unit.
        let usual = if *self.page == Page::Wheel { usual - 1 } else { usual };
        let theme = self.theme;
        let mut removed = None;
        for index in 0..draft.shapes.len() {
            if draft.shapes[index].stands_for.page() == *self.page {
                heading(ui, &format!("From a file: {}", draft.shapes[index].name), theme);
                if ui.push_id(("shape", index), |ui| self.shape_ui(ui, draft, index)).inner {
                    removed = Some(index);
                }
            }
        }
        if let Some(index) = removed {
            draft.remove_shape(index);
        }
        ui.add_space(HALF);
        let hint = "An STL, OBJ or glTF file takes the place of what the dimensions say";
        if action(ui, "Bring a part from a file…", theme).on_hover_text(hint).clicked() {
            self.commands.push(FileCommand::Ask(Purpose::Shape(usual)));
        }
    }

    /// One shape; true where it is to be taken away.
    fn shape_ui(&self, ui: &mut Ui, draft: &mut Project, index: usize) -> bool {
        let theme = self.theme;
        let shape = &mut draft.shapes[index];
        if let Some(name) = name_ui(ui, "Name", &shape.name) {
            shape.name = name;
        }
        if let Some(file) = name_ui(ui, "File", &shape.file) {
            shape.file = file;
            shape.mesh = Loaded::default();
        }
        let before = (shape.unit, shape.forward, shape.up);
        pick_ui(ui, "Stands for", &mut shape.stands_for, &ROLES);
        choice(ui, "Its numbers are", &mut shape.unit, &LengthUnit::ALL.map(|unit| (unit, unit.word())));
        let axes = Axis::ALL.map(|axis| (axis, axis.word()));
        choice(ui, "Its forward", &mut shape.forward, &axes);
        choice(ui, "Its up", &mut shape.up, &axes);
        if before != (shape.unit, shape.forward, shape.up) {
            // Two axes on one line are told by the checks.
            if shape.forward.is_along(shape.up) {
                let free = Axis::ALL.into_iter().find(|axis| !axis.is_along(shape.forward) && !axis.is_along(before.2));
                shape.up = if before.1.is_along(shape.forward) { free.unwrap_or(before.1) } else { before.1 };
            }
            shape.mesh = Loaded::default();
        }
        let folder = folder(self.document);
        match self.shapes.state(shape, folder) {
            State::Reading => {
                ui.label(RichText::new("reading the file").size(SMALL).color(theme.quiet));
            }
            State::Failed(why) => marked(ui, Level::Outside, why, theme),
            State::Read => found_ui(ui, shape, theme),
        }
        let origin = format!("Its origin stands {}", shape.stands_for.origin());
        ui.add(egui::Label::new(RichText::new(origin).size(SMALL).color(theme.quiet)).wrap());
        self.numbers_ui(ui, draft, &format!("shapes[{index}]."));
        action(ui, "Remove", theme).on_hover_text("The dimensions say again what is there").clicked()
    }
}

/// What was found in a file.
fn found_ui(ui: &mut Ui, shape: &mut Shape, theme: &Theme) {
    let Some(mesh) = shape.mesh.0.clone() else { return };
    let [low, high] = mesh.extent();
    let size = (high - low).map(to_mm);
    reading(ui, "Size", &show_lengths(&[size.x, size.y, size.z], " × "), theme);
    reading(ui, "Triangles", &grouped(mesh.state().triangles), theme);
    for note in shape_notes(&mesh, shape.unit) {
        ui.add(egui::Label::new(RichText::new(note).size(SMALL).color(theme.quiet)).wrap());
    }
    if let Some(unit) = likelier_unit(&mesh, shape.unit)
        && action(ui, &format!("Read it in {}", unit.word()), theme).clicked()
    {
        shape.unit = unit;
        shape.mesh = Loaded::default();
    }
}

/// 2000000 → "2 000 000", with thin spaces.
fn grouped(count: usize) -> String {
    let digits = count.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push('\u{2009}');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_counts_are_grouped_by_thousands() {
        assert_eq!(grouped(2_000_000), "2\u{2009}000\u{2009}000");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(1000), "1\u{2009}000");
    }

    #[test]
    fn every_role_has_its_word_in_the_projects_order() {
        assert_eq!(ROLES.map(|(role, _)| role), StandsFor::ALL);
    }
}
