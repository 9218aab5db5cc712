//! Pictures of what the window shows: drawn on a thread of their own with an engine of their own, so that the window goes
//! on meanwhile.

use std::{
    path::{Path, PathBuf},
    time::Duration,
};

use bevy::{prelude::*, window::RequestRedraw};

use super::{
    camera::View,
    files::{Chosen, Files, Purpose},
    hand::{Choice, Hand},
    panels::Desk,
    picture::{Content, PictureView, Print, Standpoint, render},
    reach::ReachPage,
    scene::{Shown, Stage},
    solve::{Found, Wake, Worker},
    theme::{Ground, Theme},
};
use crate::units::{a4_dots, printed_per_metre};

/// How large a picture is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// As the view is now.
    Screen,
    /// A4 on its long side, at [`PRINTED`](crate::units::PRINTED).
    #[default]
    A4Landscape,
    /// A4 on its short side, at [`PRINTED`](crate::units::PRINTED).
    A4Portrait,
    /// Four times the pixels of a common screen.
    Large,
}

impl Format {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Screen, Self::A4Landscape, Self::A4Portrait, Self::Large];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Screen => "As in the window",
            Self::A4Landscape => "A4 on its long side, 300 dots an inch",
            Self::A4Portrait => "A4 upright, 300 dots an inch",
            Self::Large => "For a large screen",
        }
    }

    /// Width and height, pixels; `view` are those of the view.
    pub fn size(self, view: UVec2) -> (u32, u32) {
        let [short, long] = a4_dots();
        match self {
            Self::Screen => (view.x, view.y),
            Self::A4Landscape => (long, short),
            Self::A4Portrait => (short, long),
            Self::Large => (3840, 2160),
        }
    }

    /// Whether it is meant for paper.
    pub const fn is_paper(self) -> bool {
        matches!(self, Self::A4Landscape | Self::A4Portrait)
    }

    /// Dots a metre, where it is meant for paper.
    fn per_metre(self) -> Option<u32> {
        self.is_paper().then(printed_per_metre)
    }
}

/// How it stands with the last picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// It is being drawn.
    Drawing(Format),
    /// It was written there.
    Written(PathBuf),
}

/// The picture that is asked for or was taken.
#[derive(Resource)]
pub struct Pictures {
    /// How large the next one is.
    pub format: Format,
    /// The ground that was chosen for it, if one was.
    ground: Option<Ground>,
    /// How it stands with the last one.
    pub told: Option<Told>,
    worker: Worker<Job, Result<PathBuf, String>>,
    number: u64,
}

type Job = (Box<Content>, Standpoint, Print);

impl Pictures {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        let draw = |(content, from, print): Job| {
            render(*content, from, &print).map(|()| print.out).map_err(|error| error.to_string())
        };
        let worker = Worker::new("picture", wake.clone(), draw)?;
        Ok(Self { format: Format::default(), ground: None, told: None, worker, number: 0 })
    }

    /// The ground of the next one: what was chosen, else paper for paper and the window's for a screen.
    pub fn ground(&self, window: Ground) -> Ground {
        self.ground.unwrap_or(if self.format.is_paper() { Ground::Paper } else { window })
    }

    /// Chooses the ground, for this size and others.
    pub const fn choose_ground(&mut self, ground: Ground) {
        self.ground = Some(ground);
    }

    /// True while one is being drawn.
    pub const fn is_busy(&self) -> bool {
        matches!(self.told, Some(Told::Drawing(_)))
    }
}

/// A path that ends in `.png`.
fn with_ending(path: &Path) -> PathBuf {
    let is_png = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    if is_png { path.to_owned() } else { PathBuf::from(format!("{}.png", path.display())) }
}

/// Draws the picture whose file was chosen, and tells how it went.
pub fn take_pictures(
    mut pictures: ResMut<Pictures>,
    mut files: ResMut<Files>,
    mut chosen: MessageReader<Chosen>,
    mut redraw: MessageWriter<RequestRedraw>,
    (shown, found, view, stage): (Res<Shown>, Res<Found>, Res<View>, Res<Stage>),
    (choice, hand, page, desk, theme): (Res<Choice>, Res<Hand>, Res<ReachPage>, Res<Desk>, Res<Theme>),
) {
    for Chosen { path, .. } in chosen.read().filter(|chosen| chosen.purpose == Purpose::Picture) {
        let Some(study) = shown.study.clone() else {
            files.note("There is no picture yet", vec!["Wait until the body is there.".to_owned()]);
            continue;
        };
        if pictures.is_busy() {
            files.note("One picture at a time", vec!["Another one is still being drawn.".to_owned()]);
            continue;
        }
        let format = pictures.format;
        let content = Content {
            title: study.solved.project.title.clone(),
            ground: pictures.ground(theme.ground),
            study,
            moment: shown.moment,
            others: [shown.ghost.clone(), shown.kept.clone()],
            findings: found.list.clone(),
            selected: desk.selected.clone(),
            show_all: desk.show_all,
            seen: Choice { held: None, ..choice.clone() },
            page: page.as_shown(),
            marks: hand.marks.clone(),
            writing: desk.writing,
        };
        let from = view
            .standard
            .map_or(Standpoint::Eye(view.eye, view.aspect), |view| Standpoint::Standard(PictureView::of(view)));
        let print = Print { out: with_ending(path), size: format.size(stage.area), per_metre: format.per_metre() };
        pictures.told = Some(Told::Drawing(format));
        pictures.number += 1;
        pictures.worker.ask(pictures.number, (Box::new(content), from, print));
        redraw.write(RequestRedraw);
    }
    while let Some((_, drawn)) = pictures.worker.answer(Duration::ZERO) {
        pictures.told = None;
        match drawn.unwrap_or_else(|| Err("the renderer failed".to_owned())) {
            Ok(path) => pictures.told = Some(Told::Written(path)),
            Err(error) => files.note("There is no picture", vec![error]),
        }
        redraw.write(RequestRedraw);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_for_paper_has_the_pixels_of_its_paper() {
        // 297 mm and 210 mm at 300 dots an inch of 25.4 mm: 3507.9 and 2480.3.
        assert_eq!(Format::A4Landscape.size(UVec2::ZERO), (3508, 2480));
        assert_eq!(Format::A4Portrait.size(UVec2::ZERO), (2480, 3508));
        assert_eq!(Format::A4Portrait.per_metre(), Some(11_811));
        assert_eq!(Format::Screen.size(UVec2::new(840, 660)), (840, 660));
    }

    #[test]
    fn what_is_printed_is_on_paper_unless_another_ground_is_chosen() {
        let mut pictures = Pictures::start(&(std::sync::Arc::new(|| {}) as Wake)).unwrap();
        assert_eq!(pictures.ground(Ground::Graphite), Ground::Paper);
        pictures.format = Format::Screen;
        assert_eq!(pictures.ground(Ground::Graphite), Ground::Graphite);
        pictures.choose_ground(Ground::Graphite);
        pictures.format = Format::A4Portrait;
        assert_eq!(pictures.ground(Ground::Paper), Ground::Graphite);
    }

    #[test]
    fn a_picture_has_its_ending_whatever_is_typed() {
        assert_eq!(with_ending(Path::new("a/my rig")), Path::new("a/my rig.png"));
        assert_eq!(with_ending(Path::new("v1.2")), Path::new("v1.2.png"));
        assert_eq!(with_ending(Path::new("x.PNG")), Path::new("x.PNG"));
    }
}
