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
    edit::Edit,
    files::{FileCommand, Files},
    panels::Desk,
    reach::{Placing, ReachPage},
};

/// The modifier keys that are held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held {
    command: u8,
    shift: u8,
}

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Asked {
    File(FileCommand),
    Undo,
    Redo,
    View(StandardView),
    Reach,
    Compare,
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
            Key::Character(text) => return self.asked(&text.to_lowercase()),
            _ => {}
        }
        None
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
            digit if !command => {
                let number = digit.parse::<usize>().ok()?;
                StandardView::ALL.get(number.checked_sub(1)?).copied().map(Asked::View)
            }
            _ => None,
        }
    }
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
            Asked::Unselect if desk.measuring.is_some() => desk.measuring = None,
            Asked::Unselect if reach.open => {
                reach.control = None;
                reach.placing = Placing::No;
            }
            Asked::Unselect => desk.selected = None,
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
