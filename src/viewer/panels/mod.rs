//! The columns, the strip and the view between them.

mod adjusters;
mod compare;
mod curves;
mod drivers;
mod effort;
mod findings;
mod frame;
mod guide;
mod hints;
mod inputs;
mod lists;
mod marked;
mod measuring;
mod number;
mod picture;
mod questions;
mod reach;
mod screens;
mod settings;
mod shapes;
mod sheet;
mod strip;
mod templates;
mod tools;

use bevy::{ecs::system::SystemParam, prelude::*};
use bevy_egui::{
    EguiContext, EguiContexts, EguiTextureHandle, PrimaryEguiContext,
    egui::{
        self, Align, Color32, CursorIcon, Frame, Layout, Margin, PointerButton, Rect, RichText, Sense, Ui, UiBuilder,
        pos2, vec2,
    },
};

use super::{
    bring::Shapes,
    camera::{StandardView, View},
    compare::Comparison,
    edit::{Document, Edit, Stroke},
    files::{FileCommand, Files},
    hand::{
        self, Choice, Hand, Tool, Was,
        pick::{Owner, Standing},
    },
    home::Home,
    over::{self, Writing},
    overlay::{self, Pane},
    pictures::Pictures,
    reach::{ReachPage, draw},
    scene::{Shown, Stage, area},
    solve::{Drawings, Found, PointerDown},
    theme::{self, HALF, RHYTHM, SMALL, Theme},
};
use crate::{
    findings::{Finding, Group},
    project::{Page, Project},
    rig::{Handle as PartHandle, RigPart},
};

/// How far out of the picture a finding's place is flown to, m of picture height.
const CLOSE_UP: f64 = 0.75;

/// Height of the words along the top of the view, points.
const HEAD: f32 = 36.0;

/// Height of the tools below them.
const TOOLS: f32 = 28.0;

/// What the user has opened, chosen and folded away.
#[derive(Debug, Resource)]
pub struct Desk {
    /// The topic of the left column.
    pub page: Page,
    /// The finding that is looked at, by its key.
    pub selected: Option<String>,
    /// True while good findings are listed and shown too.
    pub show_all: bool,
    /// True while findings are listed by group, not the most urgent first.
    pub by_group: bool,
    /// The one group that is listed, if not all are.
    pub group: Option<Group>,
    /// What is written over the view.
    pub writing: Writing,
    /// The dimension in hand while it is shown how to measure, a field of the project.
    pub measuring: Option<&'static str>,
    /// Who is shown as a ghost beside the driver, by name.
    pub ghost: Option<String>,
    /// What is open of the frame.
    pub rails: frame::Rails,
    /// What lies over the window.
    pub sheet: Option<Sheet>,
    /// The guided path, while it is walked.
    pub guide: Option<guide::Guide>,
    inputs: bool,
    findings: bool,
    strip: bool,
    /// The column that had the keyboard last, and whether it is to have it again.
    column: usize,
    turns: bool,
    /// Whether curves are shown over the strip.
    pub curves: bool,
    /// Whether all drivers are shown side by side over the strip.
    pub drivers: bool,
    curve: curves::CurveChoice,
    /// The finding whose curve was brought last.
    curve_of: Option<String>,
    /// When the cycle that is played began, s.
    playing: Option<f64>,
}

/// What can lie over the window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    /// Where to begin.
    Start,
    /// The list of keys.
    Keys,
    /// The picture of the view.
    Picture,
}

impl Desk {
    /// Turns to the numbers of a part.
    pub fn turn_to(&mut self, part: PartHandle, project: &Project) {
        self.page = part.page(project);
        if let PartHandle::Rail(index) | PartHandle::RailEnd(index, _) = part {
            self.rails.open = Some(index);
        }
    }

    /// Hands the keyboard to the next of inputs, head, findings and strip that is there.
    pub const fn turn(&mut self, reach: bool) {
        let there = [self.inputs, true, self.findings || reach, self.strip];
        loop {
            self.column = (self.column + 1) % there.len();
            if there[self.column] {
                break;
            }
        }
        self.turns = true;
    }
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            page: Page::You,
            selected: None,
            show_all: false,
            by_group: false,
            group: None,
            writing: Writing::default(),
            measuring: None,
            ghost: None,
            rails: frame::Rails::default(),
            sheet: None,
            guide: None,
            inputs: true,
            findings: true,
            strip: true,
            column: 3,
            turns: false,
            curves: false,
            drivers: false,
            curve: curves::CurveChoice::default(),
            curve_of: None,
            playing: None,
        }
    }
}

/// Where the handle of a section stands on the screen, and how the screen moves with a metre along its normal.
#[derive(Debug, Default, Resource)]
pub struct Handle(Option<(egui::Pos2, egui::Vec2)>);

/// What the interface reads and sends.
#[derive(SystemParam)]
pub struct Interface<'w> {
    desk: ResMut<'w, Desk>,
    theme: Res<'w, Theme>,
    document: ResMut<'w, Document>,
    found: Res<'w, Found>,
    drawings: Res<'w, Drawings>,
    reach: ResMut<'w, ReachPage>,
    comparison: ResMut<'w, Comparison>,
    shapes: Res<'w, Shapes>,
    shown: ResMut<'w, Shown>,
    view: ResMut<'w, View>,
    stage: ResMut<'w, Stage>,
    files: ResMut<'w, Files>,
    home: ResMut<'w, Home>,
    pointer: ResMut<'w, PointerDown>,
    handle: ResMut<'w, Handle>,
    hand: ResMut<'w, Hand>,
    choice: ResMut<'w, Choice>,
    was: ResMut<'w, Was>,
    pictures: ResMut<'w, Pictures>,
    standing: Res<'w, Standing>,
    edits: MessageWriter<'w, Edit>,
    commands: MessageWriter<'w, FileCommand>,
}

/// Lays out the window.
pub fn interface(mut contexts: EguiContexts, mut interface: Interface) -> Result {
    let picture = contexts.add_image(EguiTextureHandle::Weak(interface.stage.image.id()));
    let ctx = contexts.ctx_mut()?.clone();
    let held = ctx.input(|input| input.pointer.any_down());
    if interface.pointer.0 != held {
        interface.pointer.0 = held;
    }

    let whole = ctx.content_rect();
    let mut ui =
        Ui::new(ctx.clone(), "window".into(), UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(whole));
    let asking = interface.files.question.is_some();
    let theme = interface.theme.clone();
    let width = theme::column_width(whole.width());
    let column = Frame::new().fill(theme.panel).inner_margin(Margin::symmetric(RHYTHM as i8, RHYTHM as i8));
    if interface.desk.inputs {
        egui::Panel::left("inputs").resizable(false).exact_size(width).frame(column).show(&mut ui, |ui| {
            anchor_ui(ui, 0, &mut interface.desk, &theme);
            inputs_ui(ui, &mut interface, &theme);
        });
    }
    if interface.reach.open {
        egui::Panel::right("reach").resizable(false).exact_size(width).frame(column).show(&mut ui, |ui| {
            anchor_ui(ui, 2, &mut interface.desk, &theme);
            reach::reach_ui(ui, &mut interface, &theme);
        });
    } else if interface.comparison.open {
        egui::Panel::right("compare").resizable(false).exact_size(width).frame(column).show(&mut ui, |ui| {
            if let Some(key) = compare::compare_ui(ui, &mut interface, &theme)
                && let Some(finding) = interface.found.list.iter().find(|finding| finding.key() == key).cloned()
            {
                look(&mut interface, &finding);
            }
        });
    } else if interface.desk.findings {
        egui::Panel::right("findings").resizable(false).exact_size(width).frame(column).show(&mut ui, |ui| {
            anchor_ui(ui, 2, &mut interface.desk, &theme);
            findings_ui(ui, &mut interface, &theme);
        });
    }
    if interface.desk.strip {
        let frame = Frame::new().fill(theme.panel).inner_margin(Margin::symmetric(2 * RHYTHM as i8, RHYTHM as i8));
        egui::Panel::bottom("strip").resizable(false).exact_size(theme::STRIP).frame(frame).show(&mut ui, |ui| {
            anchor_ui(ui, 3, &mut interface.desk, &theme);
            let mut plays = interface.desk.playing.is_some();
            if let Some(moment) = strip::strip_ui(ui, &interface.shown, &mut plays, &theme) {
                interface.shown.go_to(moment);
                plays = false;
            }
            play(ui, plays, &mut interface);
        });
    }
    if interface.desk.drivers {
        let frame = Frame::new().fill(theme.panel).inner_margin(Margin::symmetric(2 * RHYTHM as i8, RHYTHM as i8));
        egui::Panel::bottom("drivers").resizable(false).exact_size(drivers::TALL).frame(frame).show(&mut ui, |ui| {
            drivers_ui(ui, &mut interface, &theme);
        });
    }
    if interface.desk.curves {
        let frame = Frame::new().fill(theme.panel).inner_margin(Margin::symmetric(2 * RHYTHM as i8, RHYTHM as i8));
        egui::Panel::bottom("curves").resizable(false).exact_size(curves::TALL).frame(frame).show(&mut ui, |ui| {
            let Interface { found, shown, desk, .. } = &mut interface;
            if let Some(moment) = curves::curves_ui(ui, &found.curves, shown, desk, &theme) {
                desk.playing = None;
                shown.go_to(moment);
            }
        });
    }
    let rect = ui.available_rect_before_wrap();
    let (head, rect) = rect.split_top_bottom_at_y(rect.top() + HEAD);
    match interface.desk.measuring.filter(|_| interface.desk.page == Page::You) {
        Some(field) => {
            let dimensions = interface.shown.study.as_deref().map(|study| &study.solved.body.dimensions);
            let figures = interface.drawings.0.as_deref();
            interface.desk.measuring = measuring::measuring_ui(&mut ui, rect, field, figures, dimensions, &theme);
        }
        None => view_ui(&mut ui, rect, picture, &mut interface, &theme),
    }
    ui.painter().rect_filled(head, 0.0, theme.paper);
    head_ui(&mut ui, head, &mut interface, &theme);
    if interface.desk.measuring.is_none() {
        let line = Rect::from_min_size(head.left_bottom(), vec2(head.width(), TOOLS));
        tools::tools_ui(&mut ui, line, &mut interface, &theme);
    }

    picture::drop_ui(&ui, rect, &theme);
    picture::told_ui(&mut ui, rect, &mut interface.pictures, &theme);
    keep_typed(&ctx, &mut interface.document);
    if !asking {
        let Interface { desk, home, pictures, stage, .. } = &mut interface;
        if let Some(command) = sheet::sheet_ui(&ctx, desk, &home.settings, pictures, stage.area, &theme) {
            interface.commands.write(command);
        }
    }
    if asking && let Some(answer) = questions::question_ui(&ctx, &mut interface.files, &interface.document, &theme) {
        interface.files.answer = Some(answer);
    }
    Ok(())
}

/// Puts back into the numbers what was typed before a crash, and tells the document what stands there untaken.
fn keep_typed(ctx: &egui::Context, document: &mut ResMut<Document>) {
    // Without a mark of change: the window's title follows the document.
    let document = document.bypass_change_detection();
    if let Some(list) = document.give_back.take() {
        number::give_back(ctx, &list, document.draft());
    }
    let typed = number::pending_texts(ctx);
    if typed != document.typed {
        document.typed = typed;
    }
}

/// Everybody side by side; a click seats them.
fn drivers_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let seated = interface.document.draft().driver.name.clone();
    if interface.found.drivers.is_empty() {
        ui.label(RichText::new("working out").color(theme.quiet));
        return;
    }
    if let Some(name) = drivers::drivers_ui(ui, &interface.found.drivers, &seated, theme) {
        let mut project = interface.document.draft().clone();
        project.seat_driver(&name);
        interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
    }
}

/// Plays the cycle of wheel and pedals, or stops.
fn play(ui: &Ui, plays: bool, interface: &mut Interface) {
    let now = ui.input(|input| input.time);
    let began = interface.desk.playing.filter(|_| plays).or(plays.then_some(now));
    if interface.desk.playing != began {
        interface.desk.playing = began;
    }
    if let Some(began) = began
        && let Some(moment) = curves::played(&interface.shown, now - began)
    {
        interface.shown.go_to(moment);
    }
}

/// Gives the interface its typeface and the theme's look, before a pass begins: during one it would be too late.
pub fn dress(theme: Res<Theme>, mut contexts: Query<(&mut EguiContext, Ref<PrimaryEguiContext>)>) {
    for (mut context, primary) in &mut contexts {
        if primary.is_added() {
            context.get_mut().set_fonts(theme::fonts());
        }
        if primary.is_added() || theme.is_changed() {
            theme.dress(context.get_mut());
        }
    }
}

/// Where the keyboard comes to when it is handed to a column: a line along its top; Tab goes on from there.
fn anchor_ui(ui: &Ui, column: usize, desk: &mut Desk, theme: &Theme) {
    const NAMES: [&str; 4] = ["Inputs", "Words over the view", "Findings", "Wheel and pedals"];
    let rect = ui.max_rect();
    let line = Rect::from_min_size(rect.left_top() - vec2(0.0, HALF), vec2(rect.width(), 2.0));
    let response = ui.interact(line, egui::Id::new(("column", column)), Sense::focusable_noninteractive());
    if desk.turns && desk.column == column {
        desk.turns = false;
        response.request_focus();
    }
    if response.has_focus() {
        ui.painter().rect_filled(line, 0.0, theme.accent);
    }
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Label, true, NAMES[column]));
}

/// The press that is under way, if one.
fn stroke(ctx: &egui::Context) -> Option<Stroke> {
    ctx.input(|input| {
        let pressed = input.pointer.any_down() || input.pointer.any_released();
        input.pointer.press_start_time().filter(|_| pressed).map(|time| Stroke(time.to_bits()))
    })
}

fn inputs_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let guided = guide::guide_ui(ui, interface, theme);
    if let Some(step) = guided {
        interface.desk.measuring = None;
        guide::frame(step, &mut interface.view, interface.document.good());
    }
    let desk = &mut *interface.desk;
    let mut column = inputs::Column {
        document: &interface.document,
        recent: &interface.home.settings.recent,
        study: interface.shown.study.as_deref(),
        page: &mut desk.page,
        measuring: &mut desk.measuring,
        ghost: &mut desk.ghost,
        rails: &mut desk.rails,
        sheet: &mut desk.sheet,
        shapes: &interface.shapes,
        theme,
        commands: Vec::new(),
        edit: None,
    };
    column.ui(ui);
    let (commands, edit) = (column.commands, column.edit);
    interface.commands.write_batch(commands);
    match edit {
        Some(inputs::Wish::Draft(project)) => {
            interface.edits.write(Edit::Draft { project, stroke: stroke(ui.ctx()) });
        }
        Some(inputs::Wish::Undo) => {
            interface.edits.write(Edit::Undo);
        }
        Some(inputs::Wish::Redo) => {
            interface.edits.write(Edit::Redo);
        }
        None => {}
    }
}

/// The ground under what is told of a chosen row, in from the left by `gutter` points.
fn detail_frame(gutter: f32, theme: &Theme) -> Frame {
    Frame::new()
        .fill(theme.wash)
        .inner_margin(Margin { left: gutter as i8, right: HALF as i8, top: 0, bottom: RHYTHM as i8 })
        .outer_margin(Margin { left: -(HALF as i8), right: -(HALF as i8), top: 0, bottom: 0 })
}

fn findings_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let wish = findings::findings_ui(ui, &interface.found, &mut interface.desk, theme);
    match wish {
        Some(findings::Wish::Look(number)) => {
            if let Some(finding) = interface.found.list.iter().find(|finding| finding.number == number).cloned() {
                look(interface, &finding);
            }
        }
        Some(findings::Wish::Measure(field)) => {
            interface.desk.inputs = true;
            interface.desk.page = Page::You;
            interface.desk.measuring = Some(field);
        }
        Some(findings::Wish::Move(moves)) => {
            // One draft, so one step to undo.
            let mut project = interface.document.draft().clone();
            crate::findings::Move::make(&moves, &mut project);
            interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
        }
        None => {}
    }
}

/// Selects a finding, goes to its moment and flies to its place.
fn look(interface: &mut Interface, finding: &Finding) {
    interface.desk.selected = Some(finding.key());
    if interface.shown.moment != finding.moment {
        interface.shown.go_to(finding.moment);
    }
    let height = match finding.place {
        crate::findings::Place::Angle { at, from, to } => 2.6 * (from - at).norm().max((to - at).norm()),
        crate::findings::Place::Gap { from, to } => 3.0 * (from - to).norm(),
        crate::findings::Place::Point { .. } => 0.0,
    };
    interface.view.look_at(finding.place.centre(), height.max(CLOSE_UP));
}

/// The view: the stage's picture, moved by the pointer, with what is drawn over it.
fn view_ui(ui: &mut Ui, rect: Rect, picture: egui::TextureId, interface: &mut Interface, theme: &Theme) {
    let pixels = rect.size() * ui.ctx().pixels_per_point();
    let Interface { stage, view, .. } = interface;
    stage.resize(UVec2::new(pixels.x.round() as u32, pixels.y.round() as u32));
    let aspect = f64::from(rect.width() / rect.height().max(1.0));
    if (view.aspect - aspect).abs() > 1e-3 {
        view.reshape(aspect);
    }
    let beside = interface.shown.study.as_deref().zip(interface.shown.posture.as_ref());
    let beside = beside.filter(|_| interface.desk.writing.dimensions);
    let beside = beside.map(|(study, posture)| over::beside(study, posture, &view.bounds, view.standard));
    if beside.is_some() || view.holds_dimensions() {
        view.hold_dimensions(beside);
    }

    let response = ui.interact(rect, ui.id().with("view"), Sense::click_and_drag());
    let size = area(rect);
    let pane = Pane::open(rect, view.eye);
    let handle = interface.handle.0;
    let in_hand = interface.reach.open && reach::hands_on(ui, &response, &pane, interface, handle);
    let in_hand = in_hand || hand_works(ui, &response, &pane, interface);
    let view = &mut interface.view;
    let drag = response.drag_delta();
    if drag != egui::Vec2::ZERO && !in_hand {
        let drag = [f64::from(drag.x), f64::from(drag.y)];
        let pans = response.dragged_by(PointerButton::Secondary) || ui.input(|input| input.modifiers.shift);
        let eye = view.take();
        if pans {
            eye.pan(drag, size);
        } else {
            eye.orbit(drag);
        }
    }
    if response.hovered()
        && let Some(at) = response.hover_pos()
    {
        let factor = ui.input(|input| (-wheel(input) * 0.0022).exp() / f64::from(input.zoom_delta()));
        if (factor - 1.0).abs() > 1e-6 {
            let at = at - rect.min;
            view.take().zoom(factor, [f64::from(at.x), f64::from(at.y)], size);
        }
    }

    let painter = ui.painter_at(rect);
    let uv = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    painter.image(picture, rect, uv, Color32::WHITE);
    let pane = Pane { free: rect.with_min_y(rect.top() + TOOLS + HALF), ..Pane::open(rect, interface.view.eye) };
    overlay::floor_line(&painter, &pane, theme);
    overlay::scale_bar(&painter, &pane, theme);
    let kept = interface.shown.kept.as_ref().and(interface.comparison.kept.as_ref()).map(|kept| kept.name.as_str());
    compare::legend(&painter, rect, kept, interface.desk.ghost.as_deref(), theme);
    let open = interface.desk.rails.open.filter(|_| interface.desk.inputs && interface.desk.page == Page::Frame);
    if let (Some(open), Some(study)) = (open, &interface.shown.study)
        && let Some(rail) = study.solved.rig.rails.get(open)
    {
        marked::rail(&painter, &pane, rail, theme);
    }
    if let Some(study) = &interface.shown.study {
        let (rig, project) = (&study.solved.rig, &study.solved.project);
        hand::draw::over(&painter, &pane, &interface.hand, rig, project, response.hover_pos(), theme);
        for (on, at) in &interface.hand.caught {
            let carrier = project.frame.iter().position(|rail| rail.name == *on).and_then(|index| rig.rails.get(index));
            if let Some(carrier) = carrier {
                marked::caught(&painter, &pane, carrier, *at, theme);
            }
        }
    }
    let reaches = interface.reach.open;
    let written = over::Over {
        study: interface.shown.study.as_deref(),
        posture: interface.shown.posture.as_ref(),
        moment: interface.shown.moment,
        findings: &interface.found.list,
        selected: interface.desk.selected.as_deref(),
        show_all: interface.desk.show_all,
        writing: interface.desk.writing.beside(reaches),
        bounds: &interface.view.bounds,
        standard: interface.view.standard,
    };
    let under = over::over(&painter, &pane, &written, response.hover_pos(), theme).cloned();
    if reaches {
        reached_ui(ui, &painter, &pane, &response, interface, theme);
        return;
    }
    if let Some(finding) = under {
        ui.ctx().set_cursor_icon(CursorIcon::PointingHand);
        if response.clicked() {
            look(interface, &finding);
        }
    } else if response.clicked() && interface.hand.tool != Tool::Measure {
        interface.desk.selected = None;
        choose(interface);
    }
}

/// Chooses the part under the pointer, and turns to its numbers.
fn choose(interface: &mut Interface) {
    let Some(study) = &interface.shown.study else { return };
    let rig = &study.solved.rig;
    let held = match interface.hand.over {
        Some(Owner::Part(part)) => PartHandle::of(part, rig),
        Some(Owner::Driver) if interface.hand.tool == Tool::Move => Some(PartHandle::Seat),
        Some(Owner::Driver) => {
            interface.desk.page = Page::You;
            None
        }
        None => None,
    };
    if interface.choice.held != held {
        interface.choice.held = held;
    }
    if let Some(held) = held {
        interface.desk.turn_to(held, &study.solved.project);
    }
}

/// What the tool in hand does with the pointer; true while the view is to stay as it is.
fn hand_works(ui: &Ui, response: &egui::Response, pane: &Pane, interface: &mut Interface) -> bool {
    let Some(study) = interface.shown.study.clone() else { return false };
    interface.hand.ready(&interface.choice, &study);
    let moment = interface.shown.moment;
    let done =
        interface.hand.work(ui, response, pane, &interface.standing, (&study, interface.document.good()), &moment);
    if let Some(handle) = done.begun {
        let whole = match handle {
            PartHandle::RailEnd(index, _) => PartHandle::Rail(index),
            other => other,
        };
        if interface.choice.held != Some(whole) {
            interface.choice.held = Some(whole);
        }
        interface.desk.turn_to(whole, interface.document.good());
        interface.was.0 = Some((handle, study));
    }
    if done.ended {
        interface.was.0 = None;
    }
    if let Some(project) = done.project {
        interface.edits.write(Edit::Draft { project, stroke: stroke(ui.ctx()) });
    }
    if let Some(moment) = done.moment {
        interface.shown.go_to(moment);
    }
    let works = match (interface.hand.tool, interface.hand.over) {
        (Tool::Look, _) | (_, None) | (Tool::Drive, Some(Owner::Driver)) => false,
        (Tool::Drive, Some(Owner::Part(part))) => {
            matches!(part, RigPart::Rim | RigPart::Hub | RigPart::Pedal(_))
        }
        (Tool::Move | Tool::Measure, Some(_)) => true,
    };
    if done.busy {
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    } else if works {
        let icon = if interface.hand.tool == Tool::Measure { CursorIcon::Crosshair } else { CursorIcon::Grab };
        ui.ctx().set_cursor_icon(icon);
    }
    done.busy || interface.hand.drags()
}

/// What the page of reach draws over the view, and what the pointer asks there.
fn reached_ui(
    ui: &Ui,
    painter: &egui::Painter,
    pane: &Pane,
    response: &egui::Response,
    interface: &mut Interface,
    theme: &Theme,
) {
    let Some(study) = interface.shown.study.clone() else { return };
    let pointer = response.hover_pos().filter(|at| pane.rect.contains(*at));
    let page = &mut *interface.reach;
    let cut = page.cut_in(&interface.view);
    let plane = cut.map(|cut| page.plane(cut, &study));
    let draw::Holds { control: under, handle } = draw::over(painter, pane, page, cut, &study, pointer, theme);
    let over_handle =
        pointer.is_some_and(|at| handle.is_some_and(|(handle, _)| handle.distance(at) < draw::GRAB * 1.5));
    let held = ui.input(|input| input.pointer.any_down());
    if under.is_some() || over_handle || page.dragged.is_some() || page.dragged_cut.is_some() {
        let grabbed = page.dragged.is_some() || page.dragged_cut.is_some();
        ui.ctx().set_cursor_icon(if grabbed { CursorIcon::Grabbing } else { CursorIcon::Grab });
        page.leave();
        if response.clicked() && under.is_some() {
            page.control = under;
        }
    } else if let Some(at) = pointer.filter(|_| !held) {
        let on = at - pane.rect.min;
        page.ray = Some(pane.eye.ray([f64::from(on.x), f64::from(on.y)], area(pane.rect)));
        page.pointed_plane = plane;
        if let Some(touched) = &page.touched {
            draw::touched(painter, pane, touched, at, theme);
        }
    } else {
        page.leave();
    }
    interface.handle.0 = handle;
}

/// How far the wheel has been turned in this frame, points; not smoothed, which would cost further frames.
fn wheel(input: &egui::InputState) -> f64 {
    let turned = |event: &egui::Event| match event {
        egui::Event::MouseWheel { unit, delta, modifiers, .. } if !modifiers.command => Some(match unit {
            egui::MouseWheelUnit::Point => f64::from(delta.y),
            egui::MouseWheelUnit::Line => f64::from(delta.y) * 50.0,
            egui::MouseWheelUnit::Page => f64::from(delta.y) * 400.0,
        }),
        _ => None,
    };
    input.events.iter().filter_map(turned).sum()
}

/// The words along the top of the view: standard views, what is folded away, and the ground.
fn head_ui(ui: &mut Ui, head: Rect, interface: &mut Interface, theme: &Theme) {
    let line = head.shrink2(vec2(2.0 * RHYTHM, 0.5 * RHYTHM));
    let mut ui = ui.new_child(UiBuilder::new().max_rect(line).layout(Layout::left_to_right(Align::Center)));
    anchor_ui(&ui, 1, &mut interface.desk, theme);
    ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
    views_ui(&mut ui, line.width() >= NARROW, interface, theme);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let desk = &mut *interface.desk;
        if let Some(sheet) = settings::settings_ui(ui, &mut interface.home.settings, theme) {
            desk.sheet = Some(sheet);
        }
        if word(ui, "Start", false, theme).on_hover_text("Demos, your own rig, files opened lately").clicked() {
            desk.sheet = Some(Sheet::Start);
        }
        if word(ui, "Guide", desk.guide.is_some(), theme).on_hover_text("Step by step through your numbers").clicked() {
            desk.guide = if desk.guide.is_some() { None } else { Some(guide::Guide::default()) };
            desk.inputs = true;
        }
        ui.add_space(HALF);
        // Findings, reach and comparing share a column.
        let reach = &mut *interface.reach;
        let compare = &mut *interface.comparison;
        if word(ui, "Compare", compare.open && !reach.open, theme).on_hover_text("Key C").clicked() {
            compare.open = !compare.open || reach.open;
            reach.open = false;
            desk.measuring = None;
        }
        if word(ui, "Reach", reach.open, theme).on_hover_text("Key R").clicked() {
            reach.open = !reach.open;
            desk.measuring = None;
        }
        if line.width() >= WIDE {
            parts_ui(ui, interface, theme);
        } else {
            menu(ui, "Show", theme, |ui| parts_ui(ui, interface, theme));
        }
    });
}

/// Widths of the head's line from which on it has room for all words, and for those of the standard views, points.
const WIDE: f32 = 800.0;
const NARROW: f32 = 540.0;

/// A word over a list that stays open until the pointer clicks elsewhere.
fn menu(ui: &mut Ui, name: &str, theme: &Theme, add: impl FnOnce(&mut Ui)) {
    use egui::containers::menu::{MenuButton, MenuConfig};
    let button = egui::Button::new(RichText::new(name).color(theme.quiet)).frame(false);
    let config = MenuConfig::new().close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside);
    MenuButton::from_button(button).config(config).ui(ui, add);
}

/// The standard views.
fn views_ui(ui: &mut Ui, roomy: bool, interface: &mut Interface, theme: &Theme) {
    let mut all = |ui: &mut Ui| {
        for (index, view) in StandardView::ALL.into_iter().enumerate() {
            let here = interface.view.standard == Some(view);
            if word(ui, view.word(), here, theme).on_hover_text(format!("Key {}", index + 1)).clicked() {
                interface.desk.measuring = None;
                interface.view.show(view);
            }
        }
    };
    if roomy {
        all(ui);
    } else {
        menu(ui, "Views", theme, all);
    }
}

/// What can be folded away, from the last to the first.
fn parts_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let Interface { desk, reach, comparison, document, .. } = interface;
    let desk = &mut **desk;
    let found = desk.findings && !reach.open && !comparison.open;
    if word(ui, "Findings", found, theme).clicked() {
        desk.findings = !found;
        reach.open = false;
        comparison.open = false;
    }
    // Both stand over the strip: one at a time.
    let many = !document.draft().others.is_empty();
    for (name, hint, people) in
        [("Curves", "Joints and gaps over wheel and pedals", false), ("Drivers", "Everybody side by side", true)]
    {
        let open = if people { desk.drivers } else { desk.curves };
        if (many || !people) && word(ui, name, open, theme).on_hover_text(hint).clicked() {
            (desk.curves, desk.drivers) = (!people && !open, people && !open);
        }
    }
    for (name, open) in [("Wheel and pedals", &mut desk.strip), ("Inputs", &mut desk.inputs)] {
        if word(ui, name, *open, theme).clicked() {
            *open = !*open;
        }
    }
}

/// A word that can be clicked: in ink with a rule under it where it holds, quiet where it does not.
fn word(ui: &mut Ui, text: &str, holds: bool, theme: &Theme) -> egui::Response {
    let colour = if holds { theme.ink } else { theme.quiet };
    let response = ui.add(egui::Button::new(RichText::new(text).color(colour)).frame(false).sense(Sense::click()));
    let under = response.rect.bottom() - 1.0;
    if holds {
        ui.painter().hline(response.rect.x_range().shrink(1.0), under, egui::Stroke::new(1.5, theme.accent));
    } else if response.hovered() {
        ui.painter().hline(response.rect.x_range().shrink(1.0), under, theme.rule());
    }
    focus_ui(ui, &response, theme);
    response.on_hover_cursor(CursorIcon::PointingHand)
}

/// Shows that something has the keyboard.
fn focus_ui(ui: &Ui, response: &egui::Response, theme: &Theme) {
    if response.has_focus() {
        let rect = response.rect.expand(2.0);
        ui.painter().rect_stroke(rect, 3.0, egui::Stroke::new(1.5, theme.accent), egui::StrokeKind::Inside);
    }
}

/// A heading in a column: small, quiet, with a rule above.
fn heading(ui: &mut Ui, text: &str, theme: &Theme) -> Rect {
    ui.add_space(RHYTHM);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    ui.painter().hline(rect.x_range(), rect.top(), theme.rule());
    let galley = ui.painter().layout_no_wrap(text.to_owned(), egui::FontId::proportional(SMALL), theme.quiet);
    ui.painter().galley(pos2(rect.left(), rect.bottom() - galley.size().y), galley, theme.quiet);
    rect
}
