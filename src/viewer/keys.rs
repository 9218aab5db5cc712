//! Keys: files, steps, standard views, the pages of reach and of comparing.

use bevy::{
    input::{
        ButtonState,
        keyboard::{Key, KeyboardFocusLost, KeyboardInput},
    },
    prelude::*,
};
use bevy_egui::{EguiContexts, egui::Memory};

use super::{
    camera::{StandardView, View},
    compare::Comparison,
    edit::{Document, Edit},
    files::{FileCommand, Files},
    hand::{Choice, Hand, Tool, nudged, without},
    panels::Desk,
    reach::{Placing, ReachPage},
    scene::Shown,
};

/// The modifier keys that are held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held {
    command: u8,
    shift: u8,
}

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Asked {
    File(FileCommand),
    Undo,
    Redo,
    View(StandardView),
    Reach,
    Compare,
    Tool(Tool),
    Angles,
    Hide,
    ShowAll,
    Alone,
    /// The part in hand, along the picture: right and up, mm.
    Nudge([f64; 2]),
    Delete,
    Unselect,
}

impl Held {
    /// Takes a key as it goes down or up, in the order in which they do: several may come in one frame.
    fn take(&mut self, key: &Key, state: ButtonState) -> Option<Asked> {
        let count = |held: &mut u8| {
            *held = if state == ButtonState::Pressed { held.saturating_add(1) } else { held.saturating_sub(1) };
        };
        match key {
            Key::Control | Key::Super => count(&mut self.command),
            Key::Shift => count(&mut self.shift),
            _ if state == ButtonState::Released => {}
            Key::Escape => return Some(Asked::Unselect),
            Key::Delete | Key::Backspace => return Some(Asked::Delete),
            Key::ArrowLeft => return Some(self.nudge([-1.0, 0.0])),
            Key::ArrowRight => return Some(self.nudge([1.0, 0.0])),
            Key::ArrowDown => return Some(self.nudge([0.0, -1.0])),
            Key::ArrowUp => return Some(self.nudge([0.0, 1.0])),
            Key::Character(text) => return self.asked(&text.to_lowercase()),
            _ => {}
        }
        None
    }

    /// A millimetre, with Shift ten.
    fn nudge(self, way: [f64; 2]) -> Asked {
        let by = if self.shift > 0 { 10.0 } else { 1.0 };
        Asked::Nudge(way.map(|share| share * by))
    }

    fn asked(self, text: &str) -> Option<Asked> {
        let (command, shift) = (self.command > 0, self.shift > 0);
        match text {
            "s" if command && shift => Some(Asked::File(FileCommand::SaveAs)),
            "s" if command => Some(Asked::File(FileCommand::Save)),
            "o" if command => Some(Asked::File(FileCommand::Open)),
            "z" if command && shift => Some(Asked::Redo),
            "y" if command => Some(Asked::Redo),
            "z" if command => Some(Asked::Undo),
            "r" if !command => Some(Asked::Reach),
            "c" if !command => Some(Asked::Compare),
            "h" if !command && shift => Some(Asked::ShowAll),
            "h" if !command => Some(Asked::Hide),
            "i" if !command => Some(Asked::Alone),
            "a" if !command => Some(Asked::Angles),
            key if !command && let Some(tool) = tool_of(key) => Some(Asked::Tool(tool)),
            digit if !command => {
                let number = digit.parse::<usize>().ok()?;
                StandardView::ALL.get(number.checked_sub(1)?).copied().map(Asked::View)
            }
            _ => None,
        }
    }
}

fn tool_of(key: &str) -> Option<Tool> {
    Tool::ALL.into_iter().find(|tool| tool.key().eq_ignore_ascii_case(key))
}

/// Takes the keys of this frame.
pub fn take_keys(
    mut keys: MessageReader<KeyboardInput>,
    mut lost: MessageReader<KeyboardFocusLost>,
    mut held: Local<Held>,
    files: Res<Files>,
    mut desk: ResMut<Desk>,
    mut view: ResMut<View>,
    mut reach: ResMut<ReachPage>,
    mut comparison: ResMut<Comparison>,
    (mut hand, mut choice): (ResMut<Hand>, ResMut<Choice>),
    (document, shown): (Res<Document>, Res<Shown>),
    mut edits: MessageWriter<Edit>,
    mut commands: MessageWriter<FileCommand>,
    mut contexts: EguiContexts,
) -> Result {
    // A key that is let go elsewhere is not heard of.
    if lost.read().count() > 0 {
        *held = Held::default();
    }
    let ctx = contexts.ctx_mut()?;
    // While something is typed, all but the file commands belongs to it.
    let typing = ctx.text_edit_focused();
    for key in keys.read() {
        let Some(asked) = held.take(&key.logical_key, key.state) else { continue };
        if files.question.is_some() {
            continue;
        }
        match asked {
            Asked::File(command) => {
                // What is being typed counts as entered.
                if let Some(focused) = ctx.memory(Memory::focused) {
                    ctx.memory_mut(|memory| memory.surrender_focus(focused));
                }
                commands.write(command);
            }
            _ if typing => {}
            Asked::Undo => {
                edits.write(Edit::Undo);
            }
            Asked::Redo => {
                edits.write(Edit::Redo);
            }
            Asked::View(standard) => {
                desk.measuring = None;
                view.show(standard);
            }
            Asked::Reach => {
                desk.measuring = None;
                reach.open = !reach.open;
            }
            Asked::Compare => {
                desk.measuring = None;
                comparison.open = !comparison.open || reach.open;
                reach.open = false;
            }
            Asked::Tool(tool) => hand.take(tool),
            Asked::Angles => desk.angles = !desk.angles,
            Asked::Hide => {
                if let Some(held) = choice.held.take() {
                    choice.hidden.insert(held);
                }
            }
            Asked::ShowAll => choice.show_all(),
            Asked::Alone => {
                if let Some(held) = choice.held {
                    choice.isolate(held, document.good());
                }
            }
            Asked::Nudge([right, up]) => {
                // A slider in the strip has its own arrows.
                if ctx.memory(Memory::focused).is_none()
                    && let (Some(held), Some(study)) = (choice.held, &shown.study)
                {
                    let [x, y, _] = view.eye.axes();
                    let toward = x * right + y * up;
                    if let Some(project) = nudged(study, held, toward, toward.norm()) {
                        edits.write(Edit::Draft { project: Box::new(project), stroke: None });
                    }
                }
            }
            Asked::Delete => {
                if let Some(project) = choice.held.and_then(|held| without(document.draft(), held)) {
                    choice.held = None;
                    edits.write(Edit::Draft { project: Box::new(project), stroke: None });
                }
            }
            Asked::Unselect if hand.tool == Tool::Measure && !hand.marks.is_empty() => hand.marks.clear(),
            Asked::Unselect if desk.measuring.is_some() => desk.measuring = None,
            Asked::Unselect if reach.open => {
                reach.control = None;
                reach.placing = Placing::No;
            }
            Asked::Unselect => {
                desk.selected = None;
                choice.held = None;
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_taken_in_their_order_within_a_frame() {
        let mut held = Held::default();
        let mut press = |key: Key| held.take(&key, ButtonState::Pressed);
        assert_eq!(press(Key::Control), None);
        assert_eq!(press(Key::Character("s".into())), Some(Asked::File(FileCommand::Save)));
        assert_eq!(press(Key::Shift), None);
        assert_eq!(press(Key::Character("Z".into())), Some(Asked::Redo));
        let mut lift = |key: Key| held.take(&key, ButtonState::Released);
        assert_eq!(lift(Key::Shift), None);
        assert_eq!(lift(Key::Control), None);
        assert_eq!(held.take(&Key::Character("2".into()), ButtonState::Pressed), Some(Asked::View(StandardView::Top)));
        assert_eq!(held.take(&Key::Character("z".into()), ButtonState::Pressed), None);
        assert_eq!(held.take(&Key::Character("0".into()), ButtonState::Pressed), None);
    }
}
