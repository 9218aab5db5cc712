//! What the window keeps between two starts: it writes the settings when they change, and work that is not saved.

use std::{path::Path, sync::Arc};

use bevy::{app::AppExit, prelude::*};
use bevy_egui::EguiContexts;

use super::{
    edit::Document,
    files::{Files, Question},
    solve::Solver,
    theme::{Ground, Theme},
};
use crate::{
    home::{Keep, Left, Places, Settings, Unsaved, left_over},
    project::{Checked, Pending, Project},
    units::System,
};

/// The user's settings and where they are kept.
#[derive(Debug, Resource)]
pub struct Home {
    /// What the user has chosen.
    pub settings: Settings,
    written: Settings,
    places: Option<Places>,
    unsaved: Option<Unsaved>,
    /// Left by another window and taken up here: removed once it is kept here.
    taken: Option<Left>,
    kept: Option<(Arc<Project>, Vec<Pending>)>,
}

/// What was kept since the last start.
#[derive(Debug)]
pub struct Kept {
    /// The settings.
    pub home: Home,
    /// What windows that ended badly have left.
    pub left: Vec<Left>,
    /// What to tell the user.
    pub told: Vec<String>,
}

impl Kept {
    /// Nothing, and nothing will be: for a window that nobody sees.
    pub fn nothing() -> Self {
        Self::of(None)
    }

    /// Looks where this user's things are kept.
    pub fn find() -> Self {
        Self::of(Places::found())
    }

    fn of(places: Option<Places>) -> Self {
        let mut told = Vec::new();
        let settings = places.as_ref().map_or_else(Settings::default, |places| {
            let (settings, broken) = Settings::read(places);
            told.extend(broken);
            settings
        });
        let left = places.as_ref().map_or_else(Vec::new, left_over);
        let unsaved = places.as_ref().and_then(|places| match Unsaved::begin(places) {
            Ok(unsaved) => Some(unsaved),
            Err(error) => {
                let folder = places.unsaved();
                told.push(format!(
                    "Work that you have not saved cannot be kept in {} ({error}): save often.",
                    folder.display()
                ));
                None
            }
        });
        let home = Home { written: settings.clone(), settings, places, unsaved, taken: None, kept: None };
        Self { home, left, told }
    }
}

impl Home {
    /// Puts a file at the head of those opened lately.
    pub fn remember(&mut self, path: &Path) {
        self.settings.remember(path, self.places.as_ref());
    }

    /// Takes a file that cannot be opened from those opened lately.
    pub fn forget(&mut self, path: &Path) {
        self.settings.recent.retain(|recent| recent != path);
    }

    /// Has taken up what another window left: removes it once this window keeps it itself.
    pub fn take_over(&mut self, left: Left) {
        self.taken = Some(left);
    }
}

/// The theme of the settings.
pub const fn theme(settings: &Settings) -> Theme {
    Theme::of(if settings.dark { Ground::Graphite } else { Ground::Paper })
}

/// Does what the settings say, and writes them down when they have changed.
pub fn settle(
    mut home: ResMut<Home>,
    mut theme: ResMut<Theme>,
    mut solver: ResMut<Solver>,
    mut files: ResMut<Files>,
    document: Res<Document>,
    mut contexts: EguiContexts,
) -> Result {
    let settings = &home.settings;
    let zoom = settings.text.factor();
    let ctx = contexts.ctx_mut()?;
    if (ctx.zoom_factor() - zoom).abs() > 1e-3 {
        ctx.set_zoom_factor(zoom);
    }
    if *settings == home.written {
        return Ok(());
    }
    let wanted = self::theme(settings);
    if wanted.ground != theme.ground {
        *theme = wanted;
    }
    if settings.units != System::shown() {
        settings.units.show();
        // Sentences are made anew, in these units.
        if let Ok(checked) = Checked::new(document.good().clone()) {
            solver.want(checked);
        }
    }
    let home = &mut *home;
    home.written = home.settings.clone();
    if let Some(places) = &home.places
        && let Err(error) = home.settings.write(places)
    {
        let lines = vec![format!("They cannot be written: {error}")];
        files.question.get_or_insert(Question::Note { title: "Your settings are not kept".to_owned(), lines });
    }
    ctx.request_repaint();
    Ok(())
}

/// Keeps work that is not saved, and forgets it once it is saved or not wanted.
pub fn keep(mut home: ResMut<Home>, document: Res<Document>, mut exits: MessageReader<AppExit>) {
    let home = &mut *home;
    // The window closes in order: what is not saved is not wanted.
    if exits.read().any(AppExit::is_success) {
        if let Some(unsaved) = home.unsaved.take() {
            unsaved.forget();
        }
        if let Some(left) = home.taken.take() {
            left.remove();
        }
        return;
    }
    let Some(unsaved) = &home.unsaved else { return };
    let pending = document.pending();
    // What is refused or half typed is worth keeping, also where all else is saved.
    match document.unsaved().or_else(|| (!pending.is_empty()).then(|| document.current())) {
        None => {
            if home.kept.take().is_some() {
                unsaved.forget();
            }
            if let Some(left) = home.taken.take() {
                left.remove();
            }
        }
        Some(now) if home.kept.as_ref().is_some_and(|kept| Arc::ptr_eq(&kept.0, &now) && kept.1 == pending) => {}
        Some(now) => {
            let at_once = home.kept.as_ref().is_none_or(|(kept, _)| parts(kept) != parts(&now));
            let (path, former) = (document.path.clone(), document.text().map(str::to_owned));
            let replaces = home.taken.take();
            unsaved.keep(Keep { project: now.clone(), path, former, pending: pending.clone(), replaces }, at_once);
            home.kept = Some((now, pending));
        }
    }
}

/// How many parts there are of each kind: what adds or takes away one is worth keeping at once.
fn parts(project: &Project) -> [usize; 6] {
    [
        project.others.len(),
        project.pedals.pedals.len(),
        project.frame.len(),
        project.controls.len(),
        project.shapes.len(),
        project.adjusters.len(),
    ]
}
