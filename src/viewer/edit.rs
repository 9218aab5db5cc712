//! The project being edited: what stands in the inputs, the steps that led there, and what has been saved.
//!
//! An edit is a value sent to one place. What the checks refuse stays in the inputs with its faults, and the last
//! good project stays the one that is shown.

use std::{path::PathBuf, sync::Arc};

use bevy::prelude::*;

use super::{hand::Choice, solve::Solver};
use crate::{
    geometry::TriangleMesh,
    project::{Checked, Fault, Pending, Project, Shape, change_words, pending, put_back},
    units::System,
};

/// A change asked for by a panel.
#[derive(Clone, Debug, Message)]
pub enum Edit {
    /// The inputs now read like this.
    Draft {
        /// All of them.
        project: Box<Project>,
        /// The press of the pointer that does it, if one: what one press changes is one step.
        stroke: Option<Stroke>,
    },
    /// One step back.
    Undo,
    /// One step forward again.
    Redo,
}

/// Names one press of the pointer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stroke(pub u64);

/// Steps, each a whole project: it is small.
#[derive(Clone, Debug)]
struct History {
    steps: Vec<Arc<Project>>,
    at: usize,
    stroke: Option<Stroke>,
}

impl History {
    /// Steps kept, so that memory has an end; the oldest go first. A step is some kilobytes.
    const MOST: usize = 10_000;

    fn from(project: Project) -> Self {
        Self { steps: vec![Arc::new(project)], at: 0, stroke: None }
    }

    fn current(&self) -> &Arc<Project> {
        &self.steps[self.at]
    }

    /// Adds a step, or goes on with the one that the same press has begun.
    fn record(&mut self, project: &Project, stroke: Option<Stroke>) {
        if **self.current() == *project {
            return;
        }
        self.steps.truncate(self.at + 1);
        let goes_on = stroke.is_some() && stroke == self.stroke && self.at > 0;
        if goes_on {
            self.steps[self.at] = Arc::new(project.clone());
        } else {
            self.steps.push(Arc::new(project.clone()));
            if self.steps.len() > Self::MOST {
                self.steps.remove(0);
            }
        }
        self.at = self.steps.len() - 1;
        self.stroke = stroke;
    }

    fn step(&mut self, by: isize) -> bool {
        self.stroke = None;
        match self.at.checked_add_signed(by) {
            Some(at) if at < self.steps.len() => {
                self.at = at;
                true
            }
            _ => false,
        }
    }
}

/// The open project.
#[derive(Debug, Resource)]
pub struct Document {
    history: History,
    draft: Project,
    faults: Vec<Fault>,
    /// The last sound project as it has just been checked.
    checked: Option<Checked>,
    /// The file that it is saved in, if one.
    pub path: Option<PathBuf>,
    text: Option<String>,
    saved: Option<Arc<Project>>,
    /// What stands in the inputs as it was typed and is no value, or not yet.
    pub typed: Vec<Pending>,
    /// The same from before, to be put back there.
    pub give_back: Option<Vec<Pending>>,
}

impl Document {
    /// Opens a project; `path` and `text` are the file that it came from, if one.
    pub fn open(project: Checked, path: Option<PathBuf>, text: Option<String>) -> Self {
        let history = History::from(project.into_inner());
        let saved = Some(history.current().clone());
        let draft = (**history.current()).clone();
        // Nothing that was typed for another project.
        let give_back = Some(Vec::new());
        Self { draft, history, faults: Vec::new(), checked: None, path, text, saved, typed: Vec::new(), give_back }
    }

    /// Takes up work that was left unsaved; `path` and `text` are the file that it came from, if one.
    pub fn recover(project: Checked, path: Option<PathBuf>, text: Option<String>) -> Self {
        Self { saved: None, ..Self::open(project, path, text) }
    }

    /// The last sound project, where it stands in no file.
    pub fn unsaved(&self) -> Option<Arc<Project>> {
        let now = self.history.current();
        (self.saved.as_ref() != Some(now)).then(|| now.clone())
    }

    /// The last sound project, as it is shared.
    pub fn current(&self) -> Arc<Project> {
        self.history.current().clone()
    }

    /// What was typed and is not part of the last sound project.
    pub fn pending(&self) -> Vec<Pending> {
        let mut list = pending(&self.draft, self.history.current());
        list.extend(self.typed.iter().cloned());
        list
    }

    /// Puts back what was typed before and was not part of the project.
    pub fn put_back(&mut self, list: &[Pending]) {
        let mut draft = self.draft.clone();
        let unread = put_back(list, &mut draft, System::shown());
        self.apply(Edit::Draft { project: Box::new(draft), stroke: None });
        self.give_back = Some(unread);
    }

    /// What stands in the inputs, sound or not.
    pub const fn draft(&self) -> &Project {
        &self.draft
    }

    /// The last sound project.
    pub fn good(&self) -> &Project {
        self.history.current()
    }

    /// What the checks refuse in the inputs.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// The text of the file as it was last read or written.
    pub fn text(&self) -> Option<&str> {
        self.text.as_deref()
    }

    /// True where closing would lose something.
    pub fn is_unsaved(&self) -> bool {
        self.draft != **self.history.current() || self.saved.as_ref() != Some(self.history.current())
    }

    /// True where there is a step back.
    pub fn can_undo(&self) -> bool {
        self.history.at > 0 || self.draft != **self.history.current()
    }

    /// What the step back would take back, in words.
    pub fn undo_words(&self) -> Option<String> {
        if self.draft != **self.history.current() {
            return Some("what is refused".to_owned());
        }
        let before = self.history.at.checked_sub(1)?;
        Some(change_words(&self.history.steps[before], self.history.current()))
    }

    /// What the step forward would do again, in words.
    pub fn redo_words(&self) -> Option<String> {
        let next = self.history.steps.get(self.history.at + 1)?;
        Some(change_words(self.history.current(), next))
    }

    /// True where there is a step forward.
    pub fn can_redo(&self) -> bool {
        self.history.at + 1 < self.history.steps.len()
    }

    /// Notes that the last sound project now stands in a file.
    pub fn mark_saved(&mut self, path: PathBuf, text: String) {
        self.path = Some(path);
        self.text = Some(text);
        self.saved = Some(self.history.current().clone());
    }

    /// Applies an edit. True where the last sound project has changed.
    pub fn apply(&mut self, edit: Edit) -> bool {
        let before = self.history.current().clone();
        self.checked = None;
        match edit {
            Edit::Draft { project, stroke } => {
                self.draft = *project;
                match Checked::new(self.draft.clone()) {
                    Ok(checked) => {
                        // Rails that hang on others have found their places.
                        self.draft = (*checked).clone();
                        self.faults.clear();
                        self.history.record(&self.draft, stroke);
                        self.checked = Some(checked);
                    }
                    Err(faults) => self.faults = faults,
                }
            }
            // The first step back from refused inputs is to the sound ones.
            Edit::Undo if self.draft != **self.history.current() => self.reset(),
            Edit::Undo => {
                self.history.step(-1);
                self.reset();
            }
            Edit::Redo => {
                self.history.step(1);
                self.reset();
            }
        }
        before != *self.history.current()
    }

    /// The last sound project, checked.
    fn checked(&mut self) -> Option<Checked> {
        // Only sound projects are recorded as steps.
        self.checked.take().or_else(|| Checked::new(self.good().clone()).ok())
    }

    /// Gives shapes their triangles, where `mesh` has them: no step, for nothing that is written changes. True where the
    /// last sound project got some.
    pub fn fill_shapes(&mut self, mesh: &dyn Fn(&Shape) -> Option<Arc<TriangleMesh>>) -> bool {
        let fill = |shapes: &mut [Shape]| {
            let mut filled = false;
            for shape in shapes.iter_mut().filter(|shape| shape.mesh.0.is_none()) {
                shape.mesh.0 = mesh(shape);
                filled |= shape.mesh.0.is_some();
            }
            filled
        };
        fill(&mut self.draft.shapes);
        let current = &mut self.history.steps[self.history.at];
        if current.shapes.iter().all(|shape| shape.mesh.0.is_some()) {
            return false;
        }
        fill(&mut Arc::make_mut(current).shapes)
    }

    fn reset(&mut self) {
        self.draft = (**self.history.current()).clone();
        self.faults.clear();
    }
}

/// Applies the edits of this frame and asks for a study of the outcome.
pub fn apply_edits(
    mut edits: MessageReader<Edit>,
    mut document: ResMut<Document>,
    mut solver: ResMut<Solver>,
    mut choice: ResMut<Choice>,
) {
    let parts = |project: &Project| [project.frame.len(), project.controls.len(), project.shapes.len()];
    for edit in edits.read() {
        let before = parts(document.good());
        if document.apply(edit.clone()) {
            // Parts are known by their places in their lists, which move up where one is taken away.
            let fewer = parts(document.good()).iter().zip(before).any(|(now, before)| *now < before);
            if fewer && !choice.hidden.is_empty() {
                choice.hidden.clear();
            }
            if choice.held.is_some_and(|held| fewer || !held.is_in(document.good())) {
                choice.held = None;
            }

            if let Some(checked) = document.checked() {
                solver.want(checked);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{parse, starter};

    fn document() -> Document {
        Document::open(parse(starter()).unwrap(), None, None)
    }

    fn slider_to(document: &Document, at: f64, stroke: Option<u64>) -> Edit {
        let mut project = document.draft().clone();
        project.wheel.centre_mm[2] = at;
        Edit::Draft { project: Box::new(project), stroke: stroke.map(Stroke) }
    }

    #[test]
    fn a_drag_is_one_step_and_two_drags_are_two() {
        let mut document = document();
        let start = document.good().wheel.centre_mm[2];
        for (offset, press) in [(1.0, 1), (2.0, 1), (3.0, 1), (4.0, 2), (5.0, 2)] {
            assert!(document.apply(slider_to(&document, start + offset, Some(press))));
        }
        assert!(document.is_unsaved());
        document.apply(Edit::Undo);
        assert_eq!(document.good().wheel.centre_mm[2].to_bits(), (start + 3.0).to_bits());
        document.apply(Edit::Undo);
        assert_eq!(document.good().wheel.centre_mm[2].to_bits(), start.to_bits());
        assert!(!document.is_unsaved() && !document.can_undo());
        document.apply(Edit::Redo);
        assert_eq!(document.good().wheel.centre_mm[2].to_bits(), (start + 3.0).to_bits());
    }

    #[test]
    fn refused_input_stays_with_its_fault_and_the_last_good_project_stays() {
        let mut document = document();
        let good = document.good().clone();
        assert!(!document.apply(slider_to(&document, f64::NAN, None)));
        assert!(document.faults().iter().any(|fault| fault.path == "wheel.centre_mm[2]"), "{:?}", document.faults());
        assert_eq!(*document.good(), good);
        document.apply(Edit::Undo);
        assert!(document.faults().is_empty());
        assert_eq!(*document.draft(), good);
    }

    #[test]
    fn what_was_refused_before_a_crash_stands_there_again_with_its_fault() {
        let mut before = document();
        let mut refused = before.draft().clone();
        refused.seat.cushion.length_mm = 12_000.0;
        before.apply(Edit::Draft { project: Box::new(refused.clone()), stroke: None });
        before.typed = vec![Pending { path: "wheel.tube_mm".to_owned(), text: "thick".to_owned() }];
        let kept = before.pending();

        let mut after = Document::recover(parse(starter()).unwrap(), None, None);
        after.put_back(&kept);
        assert_eq!(*after.draft(), refused);
        assert!(after.faults().iter().any(|fault| fault.path == "seat.cushion.length_mm"), "{:?}", after.faults());
        assert_eq!(after.give_back.as_ref(), Some(&before.typed));
        assert_eq!(after.good(), before.good());
    }

    #[test]
    fn triangles_that_come_later_are_no_step_and_nothing_unsaved() {
        let mut document = document();
        let mut project = document.draft().clone();
        project.shapes.push(Shape {
            name: "Shell".to_owned(),
            file: "shell.stl".to_owned(),
            unit: crate::project::LengthUnit::Mm,
            forward: crate::project::Axis::PlusX,
            up: crate::project::Axis::PlusZ,
            stands_for: crate::project::StandsFor::Seat,
            at_mm: [0.0; 3],
            turn_deg: [0.0; 3],
            mesh: crate::project::Loaded::default(),
        });
        document.apply(Edit::Draft { project: Box::new(project), stroke: None });
        document.mark_saved("rig.ron".into(), String::new());
        let mesh = Arc::new(TriangleMesh::new(&[[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], &[[0, 1, 2]]));
        assert!(document.fill_shapes(&|shape| (shape.file == "shell.stl").then(|| mesh.clone())));
        assert!(document.good().shapes[0].mesh.0.is_some() && document.draft().shapes[0].mesh.0.is_some());
        assert!(!document.is_unsaved());
        assert!(!document.fill_shapes(&|_| None), "there is nothing left to fill");
    }

    #[test]
    fn a_new_edit_drops_the_steps_ahead() {
        let mut document = document();
        let start = document.good().wheel.centre_mm[2];
        document.apply(slider_to(&document, start + 1.0, None));
        document.apply(slider_to(&document, start + 2.0, None));
        document.apply(Edit::Undo);
        document.apply(slider_to(&document, start + 9.0, None));
        assert!(!document.can_redo());
        document.apply(Edit::Undo);
        assert_eq!(document.good().wheel.centre_mm[2].to_bits(), (start + 1.0).to_bits());
    }
}
