//! A state of the project that was kept, or another project, beside the present one.

use std::{path::PathBuf, sync::Arc, time::Duration};

use bevy::{prelude::*, window::RequestRedraw};

use super::{
    edit::{Document, Edit},
    files::{Chosen, Files, Purpose, told},
    scene::{Ghost, Quality, Shown},
    solve::{Wake, Worker},
};
use crate::{
    body::SkinDetail,
    compare::{self, Changed, Difference, differences, with_frame, worst_first},
    project::{Checked, load},
    study::Study,
};

/// What is compared with, and what differs.
#[derive(Debug, Default, Resource)]
pub struct Comparison {
    /// Whether its page is open.
    pub open: bool,
    /// What is compared with.
    pub kept: Option<Kept>,
    /// What differs from there, what gets worse first; `None` until it was worked out.
    pub rows: Option<Vec<Difference>>,
    /// Which numbers differ.
    pub changed: Vec<Changed>,
    wish: Option<Wish>,
    /// The two studies of `rows`, or of what was asked for.
    of: Option<[Arc<Study>; 2]>,
    number: u64,
}

/// A state that was kept.
#[derive(Clone, Debug)]
pub struct Kept {
    /// What it is called: its title, with the file if it came from one.
    pub name: String,
    /// The project.
    pub project: Checked,
    /// Its study and its driver's skin, once they are there.
    pub state: Option<Arc<Ghost>>,
}

/// What the page asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Remember the present state.
    Keep,
    /// The kept state becomes the present one, and the present one is kept.
    Swap,
    /// The kept state becomes the present one, and stays kept.
    TakeBack,
    /// Compare with nothing.
    Forget,
}

impl Comparison {
    /// Asks for something; it is done within this frame.
    pub const fn wish(&mut self, wish: Wish) {
        self.wish = Some(wish);
    }
}

/// What is to be worked out.
enum Question {
    State(Box<Checked>, SkinDetail),
    File(PathBuf, SkinDetail),
    Differences([Arc<Study>; 2]),
}

enum Answer {
    State(Box<Ghost>),
    File(Box<(Checked, Ghost)>),
    Failed(Vec<String>),
    Differences(Vec<Difference>),
}

/// The threads of the comparison: states on one, differences on another, so that neither drops the other's question.
#[derive(Resource)]
pub struct CompareWork {
    states: Worker<Question, Answer>,
    rows: Worker<Question, Answer>,
}

impl CompareWork {
    /// Starts the threads.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        let start = |name| Worker::new(name, wake.clone(), answer);
        Ok(Self { states: start("kept state")?, rows: start("differences")? })
    }
}

fn answer(question: Question) -> Answer {
    match question {
        Question::State(project, detail) => Answer::State(Box::new(Ghost::of(&project, detail))),
        Question::File(path, detail) => match load(&path) {
            Ok((project, _)) => {
                let state = Ghost::of(&project, detail);
                Answer::File(Box::new((project, state)))
            }
            Err(error) => Answer::Failed(told(&error)),
        },
        Question::Differences([kept, now]) => {
            Answer::Differences(worst_first(differences(&with_frame(&kept), &with_frame(&now))))
        }
    }
}

/// Does what the page asks for, and takes what was worked out.
pub fn compare(
    mut comparison: ResMut<Comparison>,
    work: Res<CompareWork>,
    document: Res<Document>,
    quality: Res<Quality>,
    mut shown: ResMut<Shown>,
    mut files: ResMut<Files>,
    mut chosen: MessageReader<Chosen>,
    mut edits: MessageWriter<Edit>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let detail = quality.skin();
    // Looked at without a mark of change: nothing else waits for one.
    let page = comparison.bypass_change_detection();
    for Chosen { purpose, path } in chosen.read() {
        if *purpose == Purpose::Compare {
            page.number += 1;
            work.states.ask(page.number, Question::File(path.clone(), detail));
        }
    }
    if let Some(wish) = page.wish.take() {
        let keep = |page: &mut Comparison| {
            // Only sound projects are steps of the document.
            let Ok(project) = Checked::new(document.good().clone()) else { return };
            page.number += 1;
            work.states.ask(page.number, Question::State(Box::new(project.clone()), detail));
            page.kept = Some(Kept { name: project.title.clone(), project, state: None });
        };
        let take = |page: &Comparison, edits: &mut MessageWriter<Edit>| {
            if let Some(kept) = &page.kept {
                let project = Box::new(kept.project.clone().into_inner());
                edits.write(Edit::Draft { project, stroke: None });
            }
        };
        match wish {
            Wish::Keep => keep(page),
            Wish::Swap => {
                take(page, &mut edits);
                keep(page);
            }
            Wish::TakeBack => take(page, &mut edits),
            Wish::Forget => {
                page.kept = None;
                page.number += 1;
            }
        }
        (page.rows, page.of) = (None, None);
        redraw.write(RequestRedraw);
    }
    while let Some((number, answer)) = work.states.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        if number != page.number {
            continue;
        }
        match answer {
            Some(Answer::State(state)) => {
                if let Some(kept) = &mut page.kept {
                    kept.state = Some(Arc::new(*state));
                }
            }
            Some(Answer::File(loaded)) => {
                let (project, state) = *loaded;
                let name = project.title.clone();
                page.kept = Some(Kept { name, project, state: Some(Arc::new(state)) });
                (page.rows, page.of) = (None, None);
                page.open = true;
            }
            Some(Answer::Failed(lines)) => files.note("This file cannot be compared with", lines),
            Some(Answer::Differences(_)) | None => {}
        }
    }

    let state = page.kept.as_ref().and_then(|kept| kept.state.clone());
    if let (Some(state), Some(now), true) = (&state, &shown.study, page.open) {
        let kept = &page.of;
        let same = kept.as_ref().is_some_and(|[_, of]| Arc::ptr_eq(of, now));
        if !same {
            let pair = [Arc::new(state.study.clone()), now.clone()];
            page.changed = compare::changed(&state.study.solved.project, &now.solved.project);
            work.rows.ask(page.number, Question::Differences(pair.clone()));
            page.of = Some(pair);
        }
    }
    while let Some((number, answer)) = work.rows.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        if let (true, Some(Answer::Differences(rows))) = (number == page.number, answer) {
            page.rows = Some(rows);
        }
    }

    let veil = state.filter(|_| page.open);
    let alike = match (&veil, &shown.kept) {
        (Some(a), Some(b)) => Arc::ptr_eq(a, b),
        (None, None) => true,
        _ => false,
    };
    if !alike {
        shown.kept = veil;
    }
}
