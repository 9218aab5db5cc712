//! The guided path: a band over the inputs that leads from topic to topic and says what is still missing.

use bevy_egui::egui::{self, Align, CursorIcon, Layout, RichText, Sense, Ui, vec2};

use super::{Interface, focus_ui, inputs::action};
use crate::{
    geometry::Vec3 as Point,
    measuring::{Guide as BodyGuide, RigGuide},
    project::{Page, Project},
    units::mm_point,
    viewer::{
        camera::{Bounds, StandardView, View},
        theme::{BODY, HALF, RHYTHM, SMALL, Theme, strong},
    },
};

/// The path while it is walked: it follows the topic of the column, so it can be left and joined anywhere.
#[derive(Debug, Default)]
pub struct Guide {
    /// The topic that was framed last.
    framed: Option<Page>,
    /// What is told how to measure; by itself, the first that is missing.
    open: Option<(Page, usize)>,
}

/// One thing to do in a step.
struct Task {
    what: String,
    how: String,
    done: bool,
    /// True for what would make the findings surer, without being asked of everybody.
    advised: bool,
    /// The dimension of the body that it is about.
    dimension: Option<&'static str>,
}

/// The topics that the path leads through.
fn steps() -> impl DoubleEndedIterator<Item = Page> {
    Page::ALL.into_iter().filter(|page| !matches!(page, Page::Motion | Page::Views))
}

/// Shows the band; returns the topic whose part of the rig is to be framed, when it is reached.
pub(super) fn guide_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) -> Option<Page> {
    interface.desk.guide.as_ref()?;
    let page = interface.desk.page;
    let all: Vec<Page> = steps().collect();
    let at = all.iter().position(|step| *step == page);
    let tasks = tasks(page, interface);
    let mut turn = None;
    let mut leaves = false;

    let frame = egui::Frame::new().fill(theme.wash).inner_margin(RHYTHM).corner_radius(3.0);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.spacing_mut().item_spacing = vec2(RHYTHM, HALF);
        let title = match at {
            Some(at) => format!("Step {} of {}: {}", at + 1, all.len(), page.title()),
            None => "Beside the path".to_owned(),
        };
        ui.label(RichText::new(title).font(strong(BODY)).color(theme.ink));
        // Here they keep their places, so that one can go through by clicking.
        ui.horizontal(|ui| {
            let at = at.unwrap_or(all.len() - 1);
            for (name, to) in [("Back", at.checked_sub(1)), ("Next", Some(at + 1))] {
                let to = to.and_then(|to| all.get(to));
                if ui.add_enabled_ui(to.is_some(), |ui| action(ui, name, theme)).inner.clicked() {
                    turn = to.copied();
                }
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                leaves = action(ui, "Leave", theme).on_hover_text("Guide, over the view, brings it back").clicked();
            });
        });
        let missing = tasks.iter().filter(|task| !task.done && !task.advised).count();
        let told = match (missing, tasks.len()) {
            (_, 0) if page == Page::Screens && interface.document.draft().screens.is_none() => {
                "The project has no screens. Put one before the driver below, or go on.".to_owned()
            }
            (_, 0) => "Nothing to measure here.".to_owned(),
            (0, _) => "Nothing is missing here.".to_owned(),
            (1, _) => "One thing is still as in the starter:".to_owned(),
            (many, _) => format!("{many} things are still as in the starter:"),
        };
        ui.add(egui::Label::new(RichText::new(told).size(SMALL).color(theme.quiet)).wrap());
        let open = interface.desk.guide.as_ref().and_then(|guide| guide.open);
        let open = open.filter(|(of, _)| *of == page).map(|(_, index)| index);
        let open = open.or_else(|| tasks.iter().position(|task| !task.done));
        egui::ScrollArea::vertical().id_salt("guide").max_height(168.0).show(ui, |ui| {
            let mut advised = false;
            for (index, task) in tasks.iter().enumerate() {
                if task.advised && !advised {
                    ui.label(RichText::new("These would help most:").size(SMALL).color(theme.quiet));
                    advised = true;
                }
                let here = open == Some(index);
                if task_ui(ui, task, here, theme)
                    && let Some(guide) = &mut interface.desk.guide
                {
                    guide.open = Some((page, index));
                    if let Some(field) = task.dimension {
                        interface.desk.measuring = Some(field);
                    }
                }
                if here {
                    ui.add(egui::Label::new(RichText::new(&task.how).size(SMALL).color(theme.ink)).wrap());
                }
            }
        });
    });
    ui.add_space(HALF);

    let desk = &mut *interface.desk;
    if let Some(page) = turn {
        desk.page = page;
    }
    if leaves {
        desk.guide = None;
        return None;
    }
    let page = desk.page;
    let guide = desk.guide.as_mut()?;
    (guide.framed.replace(page) != Some(page)).then_some(page)
}

/// A task's row: what it is, and a mark where it is done. True where it was clicked.
fn task_ui(ui: &mut Ui, task: &Task, open: bool, theme: &Theme) -> bool {
    let mark = if task.done { "✓" } else { "·" };
    let colour = if task.done { theme.quiet } else { theme.ink };
    let mut text = RichText::new(format!("{mark} {}", task.what)).size(SMALL).color(colour);
    if open {
        text = text.font(strong(SMALL));
    }
    let response = ui.add(egui::Label::new(text).wrap().sense(Sense::click()));
    focus_ui(ui, &response, theme);
    response.widget_info(|| {
        let state = if task.done { "done" } else { "missing" };
        egui::WidgetInfo::selected(egui::WidgetType::Button, true, open, format!("{}: {state}", task.what))
    });
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// What there is to do on a page.
fn tasks(page: Page, interface: &Interface) -> Vec<Task> {
    let project = interface.document.draft();
    if page != Page::You {
        let rows = RigGuide::of(page, project).into_iter();
        return rows
            .map(|(row, untouched)| Task {
                what: row.what.clone(),
                how: row.how.clone(),
                done: !untouched,
                advised: false,
                dimension: None,
            })
            .collect();
    }
    let mut measured = project.driver.measured.clone();
    let starter = crate::project::parse(crate::project::starter()).ok();
    let mut starter = starter.map(|starter| starter.driver.measured.clone());
    let mut task = |field: &'static str| {
        let guide = BodyGuide::of(field)?;
        let value = |of: &mut crate::project::Measurements| of.entry(field).and_then(|entry| *entry);
        let now = value(&mut measured);
        let then = starter.as_mut().and_then(value);
        let what = guide.label().0.to_owned();
        let done = now.is_some() && now != then;
        Some(Task { what, how: guide.how.clone(), done, advised: false, dimension: Some(field) })
    };
    // What is asked of everybody, then what would make the findings surest.
    let mut tasks: Vec<Task> = ["stature_mm", "mass_kg"].into_iter().filter_map(&mut task).collect();
    for advice in &interface.found.advice {
        if let Some(advised) = task(advice.field).filter(|task| !task.done) {
            tasks.push(Task { advised: true, ..advised });
        }
    }
    tasks
}

/// Frames what a step is about.
pub(super) fn frame(page: Page, view: &mut View, project: &Project) {
    // The corners of a box: two of them could be seen along the line between them.
    let about = |at_mm: [f64; 3], low: [f64; 3], high: [f64; 3]| -> [Point; 8] {
        std::array::from_fn(|corner| {
            let by = |axis: usize| if corner >> axis & 1 == 0 { low[axis] } else { high[axis] };
            mm_point(std::array::from_fn(|axis| at_mm[axis] + by(axis)))
        })
    };
    let wheel = about(project.wheel.centre_mm, [-260.0, -260.0, -220.0], [360.0, 260.0, 220.0]);
    let (standard, points) = match page {
        Page::Seat => {
            let [x, y, z] = project.seat.position_mm;
            let at = [x + project.seat.slider.at_mm, y, z];
            (StandardView::ThreeQuarter, about(at, [-520.0, -320.0, -120.0], [560.0, 320.0, 760.0]).to_vec())
        }
        Page::Wheel => (StandardView::ThreeQuarter, wheel.to_vec()),
        Page::Pedals => {
            let at = project.pedals.position_mm;
            (StandardView::ThreeQuarter, about(at, [-120.0, -320.0, -60.0], [420.0, 320.0, 340.0]).to_vec())
        }
        Page::Controls => {
            let grip = |at_mm| about(at_mm, [-120.0; 3], [120.0; 3]);
            let grips = project.controls.iter().flat_map(|control| grip(control.at_mm));
            (StandardView::ThreeQuarter, grips.chain(wheel).collect())
        }
        Page::You => return view.show(StandardView::Side),
        _ => return view.show(StandardView::ThreeQuarter),
    };
    // Screens hide no pedals, and rails do from behind.
    let screened = view.bounds.is_screened() && page != Page::Pedals;
    view.show_part(standard, &Bounds::around(points.iter()).screened(screened));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_step_has_what_it_is_about_in_the_picture() {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/club_rig.ron");
        let project = crate::project::load(&path).unwrap().0;
        let [seat, pedals, wheel] =
            [project.seat.position_mm, project.pedals.position_mm, project.wheel.centre_mm].map(mm_point);
        for screened in [false, true] {
            for (page, about, size) in [(Page::Seat, seat, 0.3), (Page::Wheel, wheel, 0.2), (Page::Pedals, pedals, 0.2)]
            {
                let mut view = View::default();
                view.bounds = view.bounds.screened(screened);
                frame(page, &mut view, &project);
                let eye = view.bound_for();
                let to_side = eye.axes()[0] * size;
                let [at, left, right] = [about, about - to_side, about + to_side]
                    .map(|point| eye.project(point, [view.aspect, 1.0]).expect("it is before the eye").at);
                for at in [at, left, right] {
                    assert!((0.0..=view.aspect).contains(&at[0]) && (0.0..=1.0).contains(&at[1]), "{page:?} {at:?}");
                }
                // It fills a good part of the picture.
                assert!(right[0] - left[0] > 0.15 * view.aspect, "{page:?} {left:?} {right:?}");
            }
        }
    }
}
