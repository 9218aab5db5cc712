//! The left column: the project's name, its file, and its numbers, one topic at a time.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{
    self, Align, Align2, ComboBox, CursorIcon, FontId, Layout, Rect, RichText, ScrollArea, Sense, TextEdit, Ui,
    UiBuilder, WidgetInfo, WidgetType, vec2,
};

use super::{
    Sheet,
    adjusters::{adjuster_ui, path_of},
    focus_ui,
    frame::Rails,
    heading, hints,
    number::{number, plain, unread_ui},
    screens::screens_ui,
    word,
};
use crate::{
    body::Warning,
    findings::Level,
    geometry::Side,
    project::{
        AgeGroup, BackAngle, Control, Driver, Fault, Headgear, Measured, Measurements, Page, Pedal, PedalKind,
        PedalsUsed, Pelvis, Population, Project, Rim, Style, Tolerances, Wings, fields_of_page,
    },
    study::Study,
    units::{Unit, to_deg},
    viewer::{
        bring::Shapes,
        edit::Document,
        files::{FileCommand, Source},
        overlay,
        theme::{BODY, HALF, RHYTHM, SMALL, TITLE, Theme, strong},
    },
};

/// What the user wants changed.
pub(super) enum Wish {
    /// The inputs read like this now.
    Draft(Box<Project>),
    /// One step back.
    Undo,
    /// One step forward.
    Redo,
}

/// The column, what it shows and what comes of it.
pub(super) struct Column<'a> {
    pub(super) document: &'a Document,
    /// Files opened lately.
    pub(super) recent: &'a [PathBuf],
    pub(super) study: Option<&'a Study>,
    pub(super) page: &'a mut Page,
    /// The dimension in hand while it is shown how to measure.
    pub(super) measuring: &'a mut Option<&'static str>,
    /// Who is shown as a ghost.
    pub(super) ghost: &'a mut Option<String>,
    /// What is open of the frame.
    pub(super) rails: &'a mut Rails,
    /// What lies over the window.
    pub(super) sheet: &'a mut Option<Sheet>,
    /// What was read of shapes.
    pub(super) shapes: &'a Shapes,
    pub(super) theme: &'a Theme,
    pub(super) commands: Vec<FileCommand>,
    pub(super) edit: Option<Wish>,
}

/// Height of a row, points.
const ROW: f32 = 22.0;
/// Width of the place of a measuring error, points.
const ERROR: f32 = 52.0;

impl Column<'_> {
    /// Shows the column.
    pub(super) fn ui(&mut self, ui: &mut Ui) {
        let mut draft = self.document.draft().clone();
        self.head_ui(ui, &mut draft);
        self.pages_ui(ui);
        self.unplaced_faults_ui(ui);
        ScrollArea::vertical().id_salt(*self.page).auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            self.templates_ui(ui, &mut draft);
            self.choices_ui(ui, &mut draft);
            match *self.page {
                Page::Frame => self.frame_ui(ui, &mut draft),
                Page::Controls => self.controls_ui(ui, &mut draft),
                Page::You => {
                    self.drivers_ui(ui, &mut draft);
                    self.measured_ui(ui, &mut draft);
                    self.numbers_ui(ui, &mut draft, "");
                }
                _ => {
                    self.numbers_ui(ui, &mut draft, "");
                }
            }
            self.shapes_ui(ui, &mut draft);
            self.parts_ui(ui, &mut draft);
            ui.add_space(2.0 * RHYTHM);
        });
        if draft != *self.document.draft() {
            self.edit = Some(Wish::Draft(Box::new(draft)));
        }
    }

    fn head_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        // Over several lines where it is long; a line break is no part of a name.
        let title = TextEdit::multiline(&mut draft.title)
            .desired_rows(1)
            .return_key(None)
            .font(strong(TITLE))
            .frame(egui::Frame::NONE)
            .margin(vec2(0.0, 2.0))
            .desired_width(f32::INFINITY);
        ui.add(title).on_hover_text("The project's name");
        let file = self.document.path.as_deref().and_then(|path| path.file_name());
        let name = file.map_or_else(|| "not saved yet".to_owned(), |name| name.to_string_lossy().into_owned());
        let dot = if self.document.is_unsaved() { "changed · " } else { "" };
        let note = RichText::new(format!("{dot}{name}")).size(SMALL).color(self.theme.quiet);
        ui.add(egui::Label::new(note).truncate());
        ui.add_space(HALF);
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RHYTHM;
            for (text, keys, command) in [
                ("Open…", "Ctrl+O", FileCommand::Open),
                ("Save", "Ctrl+S", FileCommand::Save),
                ("Save as…", "Ctrl+Shift+S", FileCommand::SaveAs),
            ] {
                if action(ui, text, self.theme).on_hover_text(keys).clicked() {
                    self.commands.push(command);
                }
            }
        });
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RHYTHM;
            let steps = [
                ("Undo", "Ctrl+Z", self.document.can_undo(), Wish::Undo),
                ("Redo", "Ctrl+Shift+Z", self.document.can_redo(), Wish::Redo),
            ];
            for (text, keys, can, wish) in steps {
                let response = ui.add_enabled_ui(can, |ui| action(ui, text, self.theme)).inner;
                // Words are put together only where somebody reads them.
                let response = response.on_hover_ui(|ui| {
                    let what = if text == "Undo" { self.document.undo_words() } else { self.document.redo_words() };
                    ui.label(what.map_or_else(|| keys.to_owned(), |what| format!("{what}\n{keys}")));
                });
                if response.clicked() {
                    self.edit = Some(wish);
                }
            }
            if action(ui, "Picture…", self.theme).on_hover_text("Of the view, as PNG. Ctrl+P").clicked() {
                *self.sheet = Some(Sheet::Picture);
            }
            let names: Vec<String> = self.recent.iter().map(|path| short_path(path)).collect();
            if let Some(index) = pick(ui, "Recent", &names, false, self.theme) {
                self.commands.push(FileCommand::OpenThis(Source::File(self.recent[index].clone())));
            }
        });
    }

    fn pages_ui(&mut self, ui: &mut Ui) {
        ui.add_space(RHYTHM);
        let top = ui.cursor().top();
        ui.painter().hline(ui.max_rect().x_range(), top, self.theme.rule());
        ui.add_space(HALF);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
            for page in Page::ALL {
                if word(ui, page.title(), *self.page == page, self.theme).clicked() {
                    *self.page = page;
                }
            }
        });
        ui.add_space(HALF);
    }

    /// Faults of no single number, and those of numbers on another page.
    fn unplaced_faults_ui(&self, ui: &mut Ui) {
        if self.document.faults().is_empty() {
            return;
        }
        let mut project = self.document.draft().clone();
        let mut here = Vec::new();
        let adjusters = project.adjusters.clone();
        fields_of_page(&mut project, *self.page, &mut |field| {
            here.extend(path_of(&adjusters, &field.path));
            here.push(field.path);
        });
        for fault in self.document.faults().iter().filter(|fault| !here.contains(&fault.path)) {
            fault_ui(ui, fault, true, self.theme);
        }
    }

    /// What is chosen rather than measured.
    fn choices_ui(&self, ui: &mut Ui, draft: &mut Project) {
        let theme = self.theme;
        match *self.page {
            Page::You => {
                heading(ui, "Driver", theme);
                row(ui, "Name", |ui| {
                    ui.add(TextEdit::singleline(&mut draft.driver.name).desired_width(96.0));
                });
                choice(
                    ui,
                    "Estimate from",
                    &mut draft.driver.population,
                    &[Population::Men, Population::Women].map(|population| (population, word_of(population))),
                );
                choice(
                    ui,
                    "Brakes with",
                    &mut draft.driver.brakes_with,
                    &[(Side::Left, "Left foot"), (Side::Right, "Right foot")],
                );
                choice(
                    ui,
                    "Sits",
                    &mut draft.driver.pelvis,
                    &[(Pelvis::Natural, "Naturally"), (Pelvis::Slouched, "Slouched"), (Pelvis::Upright, "Upright")],
                );
                choice(
                    ui,
                    "Age",
                    &mut draft.driver.age,
                    &[(AgeGroup::Young, "Under 55"), (AgeGroup::Older, "55 to 65"), (AgeGroup::Senior, "Over 65")],
                );
            }
            Page::Seat => {
                heading(ui, "Car", theme);
                choice(
                    ui,
                    "Style",
                    &mut draft.style,
                    &[(Style::ClosedCar, "Closed car"), (Style::Formula, "Formula"), (Style::Road, "Road")],
                );
                self.gauge_ui(ui, draft);
            }
            Page::Wheel => {
                heading(ui, "Outline", theme);
                let mut shape = Shape::of(&draft.wheel.rim);
                choice(ui, "Rim", &mut shape, &Shape::WORDS);
                if shape != Shape::of(&draft.wheel.rim) {
                    draft.wheel.rim = shape.rim(&draft.wheel.rim);
                }
            }
            Page::Motion => {
                heading(ui, "Feet", theme);
                choice(
                    ui,
                    "Pedals",
                    &mut draft.motion.pedals,
                    &[(PedalsUsed::All, "All"), (PedalsUsed::BrakeAndThrottle, "No clutch")],
                );
            }
            Page::Screens => {
                let eye = self.study.map(|study| study.solved.rest.sitting.eyes);
                screens_ui(ui, draft, eye, theme);
            }
            Page::Controls | Page::Frame | Page::Pedals | Page::Views => {}
        }
    }

    /// How the back's angle is read, both readings of it, and what follows from them.
    fn gauge_ui(&self, ui: &mut Ui, draft: &mut Project) {
        heading(ui, "Back angle", self.theme);
        let from_vertical = draft.seat.back_angle_deg.from_vertical_deg();
        let mut read_from_vertical = matches!(draft.seat.back_angle_deg, BackAngle::FromVertical(_));
        choice(ui, "Gauge reads", &mut read_from_vertical, &[(false, "from horizontal"), (true, "from vertical")]);
        draft.seat.back_angle_deg = match (read_from_vertical, draft.seat.back_angle_deg) {
            (true, BackAngle::FromHorizontal(_)) => BackAngle::FromVertical(from_vertical),
            (false, BackAngle::FromVertical(_)) => BackAngle::FromHorizontal(90.0 - from_vertical),
            (_, same) => same,
        };
        let between = draft.seat.cushion_to_back_deg();
        let recline = self.study.map(|study| to_deg(study.solved.rest.sitting.recline));
        for (label, value) in [
            ("From horizontal", Some(90.0 - from_vertical)),
            ("From vertical", Some(from_vertical)),
            ("Cushion to back", Some(between)),
            ("Your torso line, from vertical", recline),
        ] {
            if let Some(value) = value.filter(|value| value.is_finite()) {
                reading(ui, label, &Unit::Degree.show(value), self.theme);
            }
        }
    }

    /// Who else drives the rig: each can take the seat, or stand beside the driver as a ghost.
    fn drivers_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        let theme = self.theme;
        heading(ui, "Also driven by", theme);
        let mut sits = None;
        let mut leaves = None;
        for (index, other) in draft.others.iter().enumerate() {
            row(ui, &other.name, |ui| {
                ui.spacing_mut().item_spacing.x = RHYTHM;
                if action(ui, "×", theme).on_hover_text("Remove this driver").clicked() {
                    leaves = Some(index);
                }
                if action(ui, "Sit", theme).on_hover_text("Take the seat").clicked() {
                    sits = Some(index);
                }
                let seen = self.ghost.as_deref() == Some(other.name.as_str());
                if word(ui, "Ghost", seen, theme).on_hover_text("Show beside the driver").clicked() {
                    *self.ghost = (!seen).then(|| other.name.clone());
                }
            });
        }
        if let Some(index) = leaves {
            let left = draft.others.remove(index);
            self.ghost.take_if(|name| *name == left.name);
        }
        if let Some(index) = sits {
            // Whoever was seen as a ghost sits now, and the other way round.
            if self.ghost.as_deref() == Some(draft.others[index].name.as_str()) {
                *self.ghost = Some(draft.driver.name.clone());
            }
            std::mem::swap(&mut draft.driver, &mut draft.others[index]);
        }
        if action(ui, "Add a driver", theme).clicked() {
            let name = (2..=draft.others.len() + 2)
                .map(|number| format!("Driver {number}"))
                .find(|name| draft.drivers().all(|(_, driver)| driver.name != *name));
            let new = Driver { name: name.unwrap_or_default(), ..draft.driver.clone() };
            draft.others.push(std::mem::replace(&mut draft.driver, new));
        }
    }

    /// What was measured; while it is shown how to measure, what can be measured as well.
    fn measured_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        let theme = self.theme;
        let head = heading(ui, "Measured", theme);
        let open = self.measuring.is_some();
        let right = UiBuilder::new().max_rect(head).layout(Layout::right_to_left(Align::Max));
        if word(&mut ui.new_child(right), "How to measure", open, theme).clicked() {
            *self.measuring = if open { None } else { Measurements::LIST.first().map(|&(field, ..)| field) };
        }
        // The rows that have the keyboard and the pointer: the one that got either last is in hand.
        let mut now: [Option<&'static str>; 2] = [None; 2];
        for &(field, variable, label, unit, error) in Measurements::LIST {
            let estimate = self.study.map(|study| study.solved.body.dimensions.get(variable));
            let taken = draft.driver.measured.entry(field).is_some_and(|entry| entry.is_some());
            let top = ui.cursor().top();
            let mut has_focus = false;
            if taken {
                has_focus = self.numbers_ui(ui, draft, &format!("driver.measured.{field}."));
            } else if let (true, Some(estimate)) = (open, estimate) {
                let implied = format!("≈ {} ± {}", plain(estimate.mean.round(), 0), unit.show(estimate.sd));
                if guess_ui(ui, label, &implied, theme).clicked()
                    && let Some(entry) = draft.driver.measured.entry(field)
                {
                    // It begins at what has been assumed so far.
                    *entry = Some(Measured::new(estimate.mean.round(), error));
                }
            }
            let row = Rect::from_x_y_ranges(ui.max_rect().x_range(), top..=ui.cursor().top());
            if has_focus {
                now[0] = Some(field);
            }
            if ui.rect_contains_pointer(row) {
                now[1] = Some(field);
            }
            if *self.measuring == Some(field) {
                let bar = Rect::from_min_max(row.left_top() - vec2(RHYTHM, 0.0), row.left_bottom() - vec2(5.0, 3.0));
                ui.painter().rect_filled(bar, 0.0, theme.accent);
            }
        }
        let id = ui.id().with("rows");
        let before: [Option<&'static str>; 2] = ui.data_mut(|data| {
            let before = data.get_temp(id).unwrap_or_default();
            data.insert_temp(id, now);
            before
        });
        if open {
            let changed = now.into_iter().zip(before).filter(|(now, before)| now != before);
            *self.measuring = changed.filter_map(|(now, _)| now).next_back().or(*self.measuring);
        }
        let doubts = self.study.map_or(&[][..], |study| study.solved.body.dimensions.warnings());
        for doubt in doubts {
            marked(ui, Level::Borderline, &doubt.to_string(), theme);
            match doubt {
                Warning::Questioned { seen, .. } => {
                    if action(ui, "It is right", theme).clicked()
                        && let Some(Some(measured)) = draft.driver.measured.entry(seen.field)
                    {
                        measured.confirmed = true;
                    }
                }
                Warning::OtherPopulation { other } => {
                    if action(ui, &format!("Estimate from {}", word_of(*other)), theme).clicked() {
                        draft.driver.population = *other;
                    }
                }
                Warning::BeyondSurvey { .. } | Warning::Child { .. } | Warning::Held { .. } => {}
            }
        }
    }

    /// Every number of the topic whose place begins with `under`; with headings where it is the whole topic. True
    /// while one of them has the keyboard.
    pub(super) fn numbers_ui(&self, ui: &mut Ui, draft: &mut Project, under: &str) -> bool {
        let (page, theme, faults) = (*self.page, self.theme, self.document.faults());
        let mut part = String::new();
        // Where the measuring error of the value above goes: it shares the value's row.
        let mut beside: Option<Rect> = None;
        let mut focused = false;
        let mut adjusters = draft.adjusters.clone();
        let mut typed = Vec::new();
        fields_of_page(draft, page, &mut |mut field| {
            let measured = field.path.starts_with("driver.measured.");
            // Those who do not sit are asked when they do.
            let sits = !field.path.starts_with("others[");
            // Shapes are asked for with what is known of their files.
            let own = measured || field.path.starts_with("shapes[");
            if !field.path.starts_with(under) || !sits || (own && under.is_empty()) {
                return;
            }
            if field.part != part && under.is_empty() {
                part.clone_from(&field.part);
                heading(ui, &part, theme);
                if let Some(hint) = hints::of_part(&part) {
                    ui.add(egui::Label::new(RichText::new(hint).size(SMALL).color(theme.quiet)).wrap());
                }
            }
            if let Some(rect) = beside.take().filter(|_| field.path.ends_with(".error")) {
                let mut ui = ui.new_child(UiBuilder::new().max_rect(rect).layout(Layout::right_to_left(Align::Center)));
                let response = number(&mut ui, &mut field, theme);
                typed.extend(Some(response.clone()));
                focused |= response.on_hover_text("Measuring error, one standard deviation").has_focus();
            } else {
                let label = row(ui, field.label, |ui| {
                    if measured {
                        beside = Some(ui.allocate_exact_size(vec2(ERROR, ROW), Sense::hover()).0);
                        ui.label(RichText::new("±").color(theme.quiet));
                    }
                    let response = number(ui, &mut field, theme);
                    focused |= response.has_focus();
                    typed.extend(Some(response));
                });
                if let Some(hint) = hints::of(&field.path) {
                    label.on_hover_text(hint);
                }
                adjuster_ui(ui, &mut field, &mut adjusters, theme);
            }
            // A value waits for its error, which shares its row.
            if beside.is_none() {
                for response in typed.drain(..) {
                    unread_ui(ui, &response, theme);
                }
            }
            let adjuster = path_of(&adjusters, &field.path);
            let about = |fault: &&Fault| fault.path == field.path || Some(&fault.path) == adjuster.as_ref();
            for fault in faults.iter().filter(about) {
                fault_ui(ui, fault, false, theme);
            }
        });
        if draft.adjusters != adjusters {
            draft.adjusters = adjusters;
        }
        focused
    }

    /// Adding and taking away.
    fn parts_ui(&self, ui: &mut Ui, draft: &mut Project) {
        ui.add_space(RHYTHM);
        match *self.page {
            Page::You => {
                measurements_ui(ui, draft, self.theme);
                limits_ui(ui, draft, self.theme);
                headgear_ui(ui, draft, self.theme);
            }
            Page::Seat => wings_ui(ui, draft, self.theme),
            Page::Pedals => pedals_ui(ui, draft, self.theme),
            Page::Motion => tolerances_ui(ui, draft, self.theme),
            Page::Wheel | Page::Frame | Page::Screens | Page::Controls | Page::Views => {}
        }
        self.add_adjuster_ui(ui, draft);
    }

    /// What the hands reach for besides the wheel.
    fn controls_ui(&self, ui: &mut Ui, draft: &mut Project) {
        let mut removed = None;
        for index in 0..draft.controls.len() {
            let control = &mut draft.controls[index];
            heading(ui, &control.name, self.theme);
            row(ui, "Name", |ui| {
                ui.add(TextEdit::singleline(&mut control.name).desired_width(128.0));
            });
            ui.push_id(index, |ui| {
                choice(ui, "Worked by", &mut control.hand, &[(Side::Left, "Left hand"), (Side::Right, "Right hand")]);
            });
            self.numbers_ui(ui, draft, &format!("controls[{index}]."));
            if action(ui, "Remove", self.theme).clicked() {
                removed = Some(index);
            }
        }
        if let Some(index) = removed {
            draft.controls.remove(index);
        }
        ui.add_space(RHYTHM);
        if action(ui, "Add a control", self.theme).clicked() {
            let [x, y, z] = draft.wheel.centre_mm;
            let name = format!("Control {}", draft.controls.len() + 1);
            draft.controls.push(Control { name, at_mm: [x, y - 300.0, z], hand: Side::Right });
        }
    }
}

/// The kinds of rim, without their sizes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    Round,
    FlatBottomed,
    OpenTopped,
    Formula,
}

impl Shape {
    const WORDS: [(Self, &'static str); 4] = [
        (Self::Round, "Round"),
        (Self::FlatBottomed, "Flat bottom"),
        (Self::OpenTopped, "Open top"),
        (Self::Formula, "Formula"),
    ];

    const fn of(rim: &Rim) -> Self {
        match rim {
            Rim::Round { .. } => Self::Round,
            Rim::FlatBottomed { .. } => Self::FlatBottomed,
            Rim::OpenTopped { .. } => Self::OpenTopped,
            Rim::Formula { .. } => Self::Formula,
        }
    }

    /// A rim of this kind, about as wide as the former one.
    fn rim(self, former: &Rim) -> Rim {
        let wide = match *former {
            Rim::Round { diameter_mm }
            | Rim::FlatBottomed { diameter_mm, .. }
            | Rim::OpenTopped { diameter_mm, .. } => diameter_mm,
            Rim::Formula { width_mm, .. } => width_mm,
        };
        match self {
            Self::Round => Rim::Round { diameter_mm: wide },
            Self::FlatBottomed => Rim::FlatBottomed { diameter_mm: wide, flat_mm: (wide * 0.4).round() },
            Self::OpenTopped => Rim::OpenTopped { diameter_mm: wide, opening_deg: 70.0 },
            Self::Formula => Rim::Formula { width_mm: wide, height_mm: (wide * 0.66).round(), corner_mm: 50.0 },
        }
    }
}

/// What a population is called.
const fn word_of(population: Population) -> &'static str {
    match population {
        Population::Men => "men",
        Population::Women => "women",
    }
}

/// A file's name and the folder that it lies in.
pub(super) fn short_path(path: &Path) -> String {
    let name = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned());
    let file = name(path).unwrap_or_else(|| path.display().to_string());
    path.parent().and_then(name).map_or_else(|| file.clone(), |folder| format!("{file} in {folder}"))
}

/// A word that does something.
pub(super) fn action(ui: &mut Ui, text: &str, theme: &Theme) -> egui::Response {
    let text = RichText::new(text).color(theme.accent);
    let response = ui.add(egui::Button::new(text).frame(false).sense(Sense::click()));
    focus_ui(ui, &response, theme);
    response.on_hover_cursor(CursorIcon::PointingHand)
}

/// A label on the left and what belongs to it on the right.
pub(super) fn row(ui: &mut Ui, label: impl Into<egui::WidgetText>, add: impl FnOnce(&mut Ui)) -> egui::Response {
    let layout = Layout::right_to_left(Align::Center);
    ui.allocate_ui_with_layout(vec2(ui.available_width(), ROW), layout, |ui| {
        ui.spacing_mut().item_spacing.x = HALF;
        add(ui);
        let layout = Layout::left_to_right(Align::Center);
        ui.with_layout(layout, |ui| ui.add(egui::Label::new(label).wrap())).inner
    })
    .inner
}

/// A dimension that was not measured, with what is assumed for it.
fn guess_ui(ui: &mut Ui, label: &str, implied: &str, theme: &Theme) -> egui::Response {
    let quiet = |text: &str| RichText::new(text).color(theme.quiet);
    let back = ui.painter().add(egui::Shape::Noop);
    let top = ui.cursor().top();
    row(ui, quiet(label), |ui| {
        ui.add_space(4.0);
        ui.label(quiet(implied).size(SMALL));
    });
    let rect = Rect::from_x_y_ranges(ui.max_rect().x_range(), top..=ui.min_rect().bottom());
    let response = ui.interact(rect, ui.id().with(label), Sense::click());
    if response.hovered() {
        ui.painter().set(back, egui::Shape::rect_filled(rect.expand2(vec2(HALF, 0.0)), 3.0, theme.wash));
    }
    focus_ui(ui, &response, theme);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("{label}: {implied}")));
    response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("Click to put in your own")
}

/// A value that follows from others.
pub(super) fn reading(ui: &mut Ui, label: &str, value: &str, theme: &Theme) {
    ui.allocate_ui_with_layout(vec2(ui.available_width(), 18.0), Layout::right_to_left(Align::Center), |ui| {
        ui.spacing_mut().item_spacing.x = HALF;
        ui.add_space(6.0);
        ui.label(RichText::new(value).color(theme.quiet));
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            ui.add(egui::Label::new(RichText::new(label).color(theme.quiet)).wrap());
        });
    });
}

/// A choice between named values.
pub(super) fn choice<T: Copy + PartialEq>(ui: &mut Ui, label: &str, value: &mut T, words: &[(T, &str)]) {
    row(ui, label, |ui| {
        let now = words.iter().find(|(each, _)| each == value).map_or("", |(_, word)| word);
        ComboBox::from_id_salt(label).width(96.0).selected_text(now).show_ui(ui, |ui| {
            for (each, word) in words {
                ui.selectable_value(value, *each, *word);
            }
        });
    });
}

/// What the checks refuse, beside the number that it is about.
pub(super) fn fault_ui(ui: &mut Ui, fault: &Fault, name_field: bool, theme: &Theme) {
    let sentence = if name_field { fault.sentence() } else { fault.kind.to_string() };
    marked(ui, Level::Outside, &sentence, theme);
}

/// A sentence behind the mark of its level.
pub(super) fn marked(ui: &mut Ui, level: Level, sentence: &str, theme: &Theme) {
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(12.0, 16.0), Sense::hover());
        overlay::mark(ui.painter(), rect.center(), level, theme);
        ui.add(egui::Label::new(RichText::new(sentence).size(SMALL).color(theme.ink)).wrap());
    });
}

/// A list that opens under a word and returns the entry that was clicked.
pub(super) fn pick(ui: &mut Ui, text: &str, entries: &[String], frame: bool, theme: &Theme) -> Option<usize> {
    if entries.is_empty() {
        return None;
    }
    let mut picked = None;
    let button = egui::Button::new(RichText::new(text).color(theme.accent)).frame(frame);
    egui::containers::menu::MenuButton::from_button(button).ui(ui, |ui| {
        ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
            for (index, entry) in entries.iter().enumerate() {
                if ui.button(entry).clicked() {
                    picked = Some(index);
                    ui.close();
                }
            }
        });
    });
    picked
}

fn measurements_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    let split = |taken: bool, measured: &mut Measurements| {
        Measurements::LIST
            .iter()
            .filter(|(field, ..)| measured.entry(field).is_some_and(|entry| entry.is_some() == taken))
            .collect::<Vec<_>>()
    };
    let (missing, taken) = (split(false, &mut draft.driver.measured), split(true, &mut draft.driver.measured));
    let labels = |list: &[&(&str, &str, &'static str, Unit, f64)]| {
        list.iter().map(|entry| entry.2.to_owned()).collect::<Vec<_>>()
    };
    ui.horizontal_wrapped(|ui| {
        if let Some(index) = pick(ui, "Add a measurement…", &labels(&missing), true, theme) {
            let &(field, variable, _, unit, error) = missing[index];
            // It begins at what has been assumed so far.
            let body = crate::body::Body::of(&draft.driver);
            let value = match unit {
                Unit::Kilogram => body.dimensions.kg(variable),
                _ => crate::units::to_mm(body.dimensions.m(variable)),
            };
            if let Some(entry) = draft.driver.measured.entry(field) {
                *entry = Some(Measured::new(value.round(), error));
            }
        }
        if let Some(index) = pick(ui, "Remove…", &labels(&taken), true, theme)
            && let Some(entry) = draft.driver.measured.entry(taken[index].0)
        {
            *entry = None;
        }
    });
}

fn limits_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    let limits = &mut draft.driver.limits;
    // Usual ranges as a start: whoever adds a limit replaces them with their own.
    let entries: [(&str, f64, &mut Option<f64>); 7] = [
        ("Ankle up", 20.0, &mut limits.ankle_dorsiflexion_deg),
        ("Ankle down", 40.0, &mut limits.ankle_plantarflexion_deg),
        ("Knee bend", 130.0, &mut limits.knee_flexion_deg),
        ("Hip bend", 115.0, &mut limits.hip_flexion_deg),
        ("Elbow bend", 140.0, &mut limits.elbow_flexion_deg),
        ("Wrist to the palm", 70.0, &mut limits.wrist_flexion_deg),
        ("Wrist to the back", 60.0, &mut limits.wrist_extension_deg),
    ];
    let (mut own, mut table): (Vec<_>, Vec<_>) = entries.into_iter().partition(|(.., value)| value.is_some());
    let labels = |list: &[(&str, f64, &mut Option<f64>)]| list.iter().map(|(label, ..)| (*label).to_owned()).collect();
    ui.horizontal_wrapped(|ui| {
        let names: Vec<String> = labels(&table);
        if let Some(index) = pick(ui, "Add a joint limit…", &names, true, theme) {
            *table[index].2 = Some(table[index].1);
        }
        let names: Vec<String> = labels(&own);
        if let Some(index) = pick(ui, "Remove…", &names, true, theme) {
            *own[index].2 = None;
        }
    });
}

fn headgear_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    let headgear = &mut draft.driver.headgear;
    if headgear.is_some() {
        if action(ui, "Take the headgear off", theme).clicked() {
            *headgear = None;
        }
    } else {
        // What usual ones measure: common practice, no published source.
        let kinds = [("Helmet", 45.0, 20.0), ("Goggles", 20.0, 90.0), ("Headphones", 20.0, 0.0)];
        let names = kinds.map(|(name, ..)| name.to_owned());
        if let Some(index) = pick(ui, "Wear headgear…", &names, true, theme) {
            let (_, over_mm, ahead_mm) = kinds[index];
            *headgear = Some(Headgear { over_mm, ahead_mm });
        }
    }
}

fn tolerances_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    if draft.tolerances.is_some() {
        if action(ui, "Back to the usual tolerances", theme).clicked() {
            draft.tolerances = None;
        }
    } else if action(ui, "Set tolerances of your own", theme).clicked() {
        draft.tolerances = Some(Tolerances { length_mm: 2.0, angle_deg: 0.5 });
    }
}

fn wings_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    let seat = &mut draft.seat;
    if seat.wings.is_some() {
        if action(ui, "Remove the shoulder wings", theme).clicked() {
            seat.wings = None;
        }
    } else if action(ui, "Add shoulder wings", theme).clicked() {
        let top = seat.back.length_mm;
        seat.wings = Some(Wings {
            from_mm: (top - 220.0).max(200.0),
            to_mm: (top - 60.0).max(260.0),
            depth_mm: 110.0,
            width_mm: seat.back.width_mm + 120.0,
        });
    }
}

fn pedals_ui(ui: &mut Ui, draft: &mut Project, theme: &Theme) {
    let pedals = &mut draft.pedals.pedals;
    let clutch = pedals.iter().position(|pedal| pedal.kind == PedalKind::Clutch);
    if let Some(clutch) = clutch {
        if pedals.len() > 2 && action(ui, "Remove the clutch", theme).clicked() {
            pedals.remove(clutch);
        }
    } else if let Some(brake) = pedals.iter().find(|pedal| pedal.kind == PedalKind::Brake).copied()
        && action(ui, "Add a clutch", theme).clicked()
    {
        // Left of the brake, with the free way of a clutch and its light spring.
        let clutch = Pedal {
            kind: PedalKind::Clutch,
            sideways_mm: brake.sideways_mm + 110.0,
            travel_mm: 60.0,
            working_travel_mm: 55.0,
            working_force_n: 120.0,
            ..brake
        };
        pedals.insert(0, clutch);
    }
}

/// An entry of a list that opens: its name, and what it is.
pub(super) fn entry_ui(ui: &mut Ui, name: &str, note: &str, open: bool, theme: &Theme) -> egui::Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::click());
    if open || response.hovered() {
        ui.painter().rect_filled(rect.expand2(vec2(HALF, 0.0)), 3.0, theme.wash);
    }
    let painter = ui.painter_at(rect);
    let name_at = rect.left_top() + vec2(0.0, 1.0);
    painter.text(name_at, Align2::LEFT_TOP, name, FontId::proportional(BODY), theme.ink);
    painter.text(rect.left_bottom(), Align2::LEFT_BOTTOM, note, FontId::proportional(SMALL), theme.quiet);
    focus_ui(ui, &response, theme);
    response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, open, name));
    response.on_hover_cursor(CursorIcon::PointingHand)
}
