//! What stands on the stage as meshes, light and shadow: worked out on a thread of its own, the newest question first,
//! so that the window goes on meanwhile.

use std::{
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use bevy::prelude::*;

use super::{
    camera::Bounds,
    hand::{Choice, pick::Standing},
    matter::Form,
    person, rig,
    scene::{Ghost, Shown},
    shade::{self, FloorShadow},
    solve::{Wake, Worker},
    theme::Theme,
    thin::Thinner,
};
use crate::{
    body::Skin,
    posture::{Moment, Posture},
    rig::RigPart,
    study::Study,
    units::mm,
};

/// With how much care it is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Care {
    /// Few triangles: for a processor that draws what moves.
    Draft,
    /// As it is.
    Whole,
}

/// What the stage shows of something: as it is, and drafted.
#[derive(Component)]
pub struct ByCare<T: Send + Sync + 'static> {
    /// As it is.
    pub whole: T,
    /// With few triangles, or without gloss.
    pub draft: T,
}

impl<T: Send + Sync + 'static> ByCare<T> {
    /// The one made with so much care.
    pub const fn with(&self, care: Care) -> &T {
        match care {
            Care::Whole => &self.whole,
            Care::Draft => &self.draft,
        }
    }
}

/// What is to stand there.
pub struct Model {
    study: Arc<Study>,
    skin: Option<Arc<Skin>>,
    posture: Option<Posture>,
    moment: Moment,
    ghost: Option<Arc<Ghost>>,
    kept: Option<Arc<Ghost>>,
    choice: Choice,
    theme: Theme,
    care: Care,
}

impl Model {
    /// What is shown now; `None` while nothing has been worked out.
    pub fn of(shown: &Shown, choice: &Choice, theme: &Theme, care: Care) -> Option<Self> {
        Some(Self {
            study: shown.study.clone()?,
            skin: shown.skin.clone(),
            posture: shown.posture.clone(),
            moment: shown.moment,
            ghost: shown.ghost.clone(),
            kept: shown.kept.clone(),
            choice: choice.clone(),
            theme: theme.clone(),
            care,
        })
    }
}

/// The same, ready to be drawn.
pub struct Cast {
    /// The driver.
    pub person: Mesh,
    /// The rig.
    pub machine: Mesh,
    /// Somebody else.
    pub ghost: Mesh,
    /// The state that is compared with.
    pub kept: Mesh,
    /// The shadow on the floor.
    pub shadow: FloorShadow,
    /// What the pointer meets.
    pub standing: Standing,
    /// What has to be in the picture.
    pub bounds: Bounds,
    /// Which study and which skin it is, once there is a skin: by these it is known whether anything new stands there.
    pub what: Option<(usize, usize)>,
    /// With how much care it was made.
    pub care: Care,
}

impl Cast {
    /// Works everything out.
    pub fn of(model: &Model, thinner: &mut Thinner) -> Self {
        let Model { study, skin, posture, moment, ghost, kept, choice, theme, care } = model;
        let solved = &study.solved;
        let is_draft = *care == Care::Draft;
        let mut machine = rig::form(&solved.rig, moment, choice, theme, is_draft.then_some(&mut *thinner));
        let mut person = match (skin, posture) {
            (Some(skin), Some(posture)) if !choice.no_driver => {
                let thin = is_draft.then(|| thinner.skin(skin));
                person::form(thin.as_ref().unwrap_or(skin), posture, theme)
            }
            _ => Form::default(),
        };
        let forms = [&machine, &person];
        let (open, shadow) = rayon::join(|| shade::openness(&forms), || FloorShadow::of(&forms));
        for (form, open) in [&mut machine, &mut person].into_iter().zip(open) {
            form.open = open;
        }
        let ghost = ghost.as_ref().map_or_else(Form::default, |other| {
            person::ghost(&other.skin, &other.study.solved.posture_at(moment), theme)
        });
        let kept = kept.as_ref().map_or_else(Form::default, |state| {
            let other = &state.study.solved;
            let mut form = rig::kept(&other.rig, &solved.rig, moment, theme);
            let body = person::kept(&state.skin, &other.posture_at(moment), theme);
            if !choice.no_driver && body.is_elsewhere(&person, mm(1.0)) {
                form.add(&body.positions, &body.normals, &body.triangles, theme.kept);
            }
            form
        });
        let screened = machine.pieces.iter().any(|(part, _)| matches!(part, RigPart::Screen(_)));
        let bounds = Bounds::around(machine.positions.iter().chain(&person.positions)).screened(screened);
        let meshes = [&person, &machine, &ghost, &kept].map(Form::mesh);
        let [person_mesh, machine_mesh, ghost, kept] = meshes;
        let what = skin.as_ref().map(|skin| (Arc::as_ptr(study) as usize, Arc::as_ptr(skin) as usize));
        let standing = Standing::of(machine, person);
        Self { person: person_mesh, machine: machine_mesh, ghost, kept, shadow, standing, bounds, what, care: *care }
    }
}

/// Who works it out: a thread, or the caller at once where pictures are taken.
#[derive(Default, Resource)]
pub struct Moulder {
    thread: Option<Worker<Model, Cast>>,
    ready: Option<Cast>,
    asked: u64,
    answered: u64,
    /// With how much care the last one was asked for.
    care: Option<Care>,
}

impl Moulder {
    /// With a thread of its own.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        let thinner = Mutex::new(Thinner::default());
        let thread = Worker::new("mould", wake.clone(), move |model: Model| {
            Cast::of(&model, &mut thinner.lock().unwrap_or_else(PoisonError::into_inner))
        })?;
        Ok(Self { thread: Some(thread), ..Self::default() })
    }

    /// Asks for what is to stand there.
    pub fn ask(&mut self, model: Model) {
        self.asked += 1;
        self.care = Some(model.care);
        if let Some(thread) = &self.thread {
            thread.ask(self.asked, model);
        } else {
            self.ready = Some(Cast::of(&model, &mut Thinner::default()));
            self.answered = self.asked;
        }
    }

    /// The newest that is ready; a frame may wait a moment for it.
    pub fn take(&mut self, patience: Duration) -> Option<Cast> {
        let mut newest = self.ready.take();
        // A draft is there soon.
        let waits = self.is_busy() && self.care == Some(Care::Draft);
        let mut patience = if waits { patience } else { Duration::ZERO };
        while let Some((number, cast)) = self.thread.as_ref().and_then(|thread| thread.answer(patience)) {
            patience = Duration::ZERO;
            self.answered = number;
            newest = cast.or(newest);
        }
        newest
    }

    /// With how much care what stands there was made, once that is the latest.
    pub fn care(&self) -> Option<Care> {
        self.care.filter(|_| !self.is_busy())
    }

    /// True while something is being worked out.
    pub const fn is_busy(&self) -> bool {
        self.asked != self.answered
    }
}
