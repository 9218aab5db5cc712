//! What to cut and to buy for the frame, and what it weighs, as `heelpoint frame` prints it.

use bevy_egui::egui::{self, DragValue, RichText, Ui, WidgetInfo, WidgetType};

use super::{
    heading,
    inputs::{Column, action, marked, reading, row},
    number::plain,
    word,
};
use crate::{
    findings::Level,
    frame::{Lists, Stock},
    project::{Checked, Project},
    units::{System, Unit, show_cut, show_cuts, typed},
    viewer::{
        files::{FileCommand, Purpose},
        theme::{HALF, RHYTHM, SMALL, Theme},
    },
};

/// The lists as they were last worked out, and how bars are sold.
#[derive(Debug, Default)]
pub struct Shopping {
    open: bool,
    /// How bars are sold and sawn.
    pub stock: Stock,
    known: Option<(Project, Stock, Lists)>,
}

impl Shopping {
    /// The lists for a sound project.
    fn of(&mut self, project: &Project) -> Option<&Lists> {
        let is_known = self.known.as_ref().is_some_and(|(known, stock, _)| known == project && *stock == self.stock);
        if !is_known {
            let checked = Checked::new(project.clone()).ok()?;
            let lists = Lists::of_project(&checked, self.stock);
            self.known = Some((project.clone(), self.stock, lists));
        }
        self.known.as_ref().map(|(.., lists)| lists)
    }
}

impl Column<'_> {
    /// The lists, folded away until they are asked for.
    pub(super) fn lists_ui(&mut self, ui: &mut Ui) {
        let theme = self.theme;
        let project = self.document.good();
        if project.frame.is_empty() {
            return;
        }
        heading(ui, "What to cut and to buy", theme);
        let shopping = &mut self.rails.shopping;
        let text = if shopping.open { "Fold away" } else { "Show the lists" };
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
            if word(ui, text, shopping.open, theme).clicked() {
                shopping.open = !shopping.open;
            }
            let hint = "cut_list.csv, bars.csv, parts.csv and frame_findings.csv into a folder; lengths in millimetres";
            if action(ui, "Export as CSV…", theme).on_hover_text(hint).clicked() {
                self.commands.push(FileCommand::Ask(Purpose::Lists));
            }
        });
        if !shopping.open {
            return;
        }
        stock_ui(ui, &mut shopping.stock);
        let Some(lists) = shopping.of(project) else { return };
        told_ui(ui, lists, theme);
    }
}

fn stock_ui(ui: &mut Ui, stock: &mut Stock) {
    for (label, value, range) in
        [("Bars are sold in", &mut stock.bar_mm, 200.0..=12_000.0), ("The saw takes", &mut stock.kerf_mm, 0.0..=20.0)]
    {
        row(ui, label, |ui| {
            let (system, unit) = (System::shown(), Unit::Millimetre);
            let bare = system.bare(unit);
            let digits = if system == System::Inch { 3 } else { 1 };
            let drag = DragValue::new(value).range(range).speed(bare).update_while_editing(false);
            let drag = drag
                .custom_formatter(move |value, _| format!("{}{}", plain(value / bare, digits), system.suffix(unit)))
                .custom_parser(move |text| typed::read(text, unit, system).ok());
            ui.add(drag).widget_info(|| WidgetInfo::labeled(WidgetType::DragValue, true, label));
        });
    }
}

fn told_ui(ui: &mut Ui, lists: &Lists, theme: &Theme) {
    let part = |ui: &mut Ui, text: &str| {
        ui.add_space(RHYTHM);
        ui.label(RichText::new(text).color(theme.quiet));
    };
    let line = |ui: &mut Ui, text: String| ui.add(egui::Label::new(text).wrap());
    let note = |ui: &mut Ui, text: String| {
        ui.add(egui::Label::new(RichText::new(text).size(SMALL).color(theme.quiet)).wrap());
        ui.add_space(HALF);
    };
    let mass = &lists.mass;
    for (label, kg) in [("Rails", mass.rails), ("Rig without you", mass.rig), ("Rig with you", mass.driven)] {
        reading(ui, label, &format!("{kg:.1} kg"), theme);
    }
    part(ui, "Cut");
    for cut in &lists.cut.cuts {
        let mitres = cut.mitre_words();
        line(ui, format!("{} × {}, {}", cut.count, cut.section, show_cut(cut.length_mm)));
        let rails = cut.rails.join(", ");
        note(ui, if mitres.is_empty() { rails } else { format!("{rails}; {mitres}") });
    }
    part(ui, &format!("Bars of {} to buy", show_cut(lists.cut.stock.bar_mm)));
    for (section, count) in lists.cut.to_buy() {
        line(ui, format!("{count} × {section}"));
        for bar in lists.cut.bars.iter().filter(|bar| bar.section == section) {
            note(ui, format!("{}; left over {}", show_cuts(&bar.cuts_mm, " + "), show_cut(bar.offcut_mm)));
        }
    }
    for rail in &lists.cut.too_long {
        let text = format!("“{rail}” is longer than a bar: buy longer ones, or splice it");
        marked(ui, Level::Outside, &text, theme);
    }
    part(ui, "What else to buy");
    for each in &lists.parts {
        line(ui, format!("{} × {}, {}", each.count, each.part, each.size));
    }
    ui.add_space(RHYTHM);
    let caution = "Cut ends are sharp: deburr them and put caps on. Bolt lengths, nuts and torques are your rail's maker's \
                   to say.";
    note(ui, caution.to_owned());
}
