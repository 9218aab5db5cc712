//! Keys: one table, which is acted on here and shown as a list.

use bevy::{
    input::{
        ButtonState,
        keyboard::{Key, KeyboardInput},
    },
    prelude::*,
    window::{RequestRedraw, WindowEvent},
};
use bevy_egui::{EguiContexts, egui::Memory};

use super::{
    camera::{StandardView, View},
    compare::Comparison,
    edit::{Document, Edit},
    files::{FileCommand, Files},
    hand::{Choice, Hand, Tool, copied, mirrored, nudged, without},
    panels::{Desk, Sheet},
    reach::{Placing, ReachPage},
    typing::Held,
};
use crate::units::{System, Unit};

/// What a key asks for.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Asked {
    File(FileCommand),
    Undo,
    Redo,
    View(StandardView),
    Reach,
    Compare,
    Tool(Tool),
    Angles,
    Distances,
    Dimensions,
    /// The sheet of the picture.
    Picture,
    Hide,
    ShowAll,
    Alone,
    /// The part in hand, along the picture: right and up, in steps of [`nudge_mm`].
    Nudge([f64; 2]),
    Delete,
    Copy,
    Mirror,
    Unselect,
    /// The list of keys.
    Keys,
    /// The keyboard goes to the next column.
    NextColumn,
    /// So many topics on.
    Topic(isize),
}

/// A key on the keyboard.
#[derive(Clone, Debug, PartialEq)]
enum Press {
    /// What it types, in small letters.
    Text(&'static str),
    /// One without a letter.
    Named(Key),
}

/// A key with the modifiers that it needs, and what it asks for.
#[derive(Clone, Debug)]
pub(super) struct Shortcut {
    press: Press,
    command: bool,
    /// Either way, where the letter says it already.
    shift: Option<bool>,
    /// True where it is meant even while something is typed.
    always: bool,
    asked: Asked,
    /// The keys and what they do, for a reader; empty for a row that belongs to the one above.
    words: (&'static str, &'static str),
}

/// How far an arrow key moves a part, mm.
pub(super) fn nudge_mm() -> f64 {
    System::shown().nudge() * System::shown().bare(Unit::Millimetre)
}

const fn press(press: Press, asked: Asked, keys: &'static str, does: &'static str) -> Shortcut {
    Shortcut { press, command: false, shift: None, always: false, asked, words: (keys, does) }
}

const fn letter(text: &'static str, asked: Asked, keys: &'static str, does: &'static str) -> Shortcut {
    press(Press::Text(text), asked, keys, does)
}

const fn named(key: Key, asked: Asked, keys: &'static str, does: &'static str) -> Shortcut {
    press(Press::Named(key), asked, keys, does)
}

impl Shortcut {
    /// The keys and what they do, for a reader, in the units that are shown; `None` for a row that belongs to the one
    /// above.
    pub(super) fn words(&self) -> Option<(&'static str, String)> {
        let (keys, does) = self.words;
        let far = match self.asked {
            Asked::Nudge([right, up]) => format!(", {}", Unit::Millimetre.show(nudge_mm() * right.hypot(up))),
            _ => String::new(),
        };
        (!keys.is_empty()).then(|| (keys, format!("{does}{far}")))
    }

    const fn command(mut self) -> Self {
        self.command = true;
        self
    }

    const fn shift(mut self, shift: bool) -> Self {
        self.shift = Some(shift);
        self
    }

    const fn always(mut self) -> Self {
        self.always = true;
        self
    }
}

/// Every key that the window knows, under headings: what [`take_keys`] acts on and the list of keys shows.
pub(super) static TABLE: [(&str, &[Shortcut]); 4] = [
    (
        "Files and steps",
        &[
            letter("o", Asked::File(FileCommand::Open), "Ctrl+O", "Open a project").command().always(),
            letter("s", Asked::File(FileCommand::Save), "Ctrl+S", "Save").command().shift(false).always(),
            letter("s", Asked::File(FileCommand::SaveAs), "Ctrl+Shift+S", "Save as").command().shift(true).always(),
            letter("p", Asked::Picture, "Ctrl+P", "Picture of the view").command().always(),
            letter("q", Asked::File(FileCommand::Close), "Ctrl+Q", "Close the window").command().always(),
            letter("z", Asked::Undo, "Ctrl+Z", "One step back").command().shift(false),
            letter("z", Asked::Redo, "Ctrl+Shift+Z, Ctrl+Y", "One step forward").command().shift(true),
            letter("y", Asked::Redo, "", "").command(),
        ],
    ),
    (
        "View",
        &[
            letter("1", Asked::View(StandardView::Side), "1, 2, 3, 4", "Side, top, front, three-quarter"),
            letter("2", Asked::View(StandardView::Top), "", ""),
            letter("3", Asked::View(StandardView::Front), "", ""),
            letter("4", Asked::View(StandardView::ThreeQuarter), "", ""),
            letter("r", Asked::Reach, "R", "What you reach"),
            letter("c", Asked::Compare, "C", "Compare with another state"),
            letter("a", Asked::Angles, "A", "Angles of the joints"),
            letter("g", Asked::Distances, "G", "Distances near their limits"),
            letter("n", Asked::Dimensions, "N", "Principal dimensions"),
            letter("h", Asked::Hide, "H", "Hide the part in hand").shift(false),
            letter("h", Asked::ShowAll, "Shift+H", "Show everything").shift(true),
            letter("i", Asked::Alone, "I", "Hide all but the part in hand"),
        ],
    ),
    (
        "Tools",
        &[
            letter("l", Asked::Tool(Tool::Look), "L", "Look"),
            letter("m", Asked::Tool(Tool::Move), "M", "Move parts"),
            letter("d", Asked::Tool(Tool::Drive), "D", "Turn the wheel, press pedals"),
            letter("t", Asked::Tool(Tool::Measure), "T", "Measure"),
            named(Key::ArrowLeft, Asked::Nudge([-1.0, 0.0]), "Arrows", "Nudge the part in hand").shift(false),
            named(Key::ArrowRight, Asked::Nudge([1.0, 0.0]), "", "").shift(false),
            named(Key::ArrowDown, Asked::Nudge([0.0, -1.0]), "", "").shift(false),
            named(Key::ArrowUp, Asked::Nudge([0.0, 1.0]), "", "").shift(false),
            named(Key::ArrowLeft, Asked::Nudge([-10.0, 0.0]), "Shift+arrows", "Nudge it").shift(true),
            named(Key::ArrowRight, Asked::Nudge([10.0, 0.0]), "", "").shift(true),
            named(Key::ArrowDown, Asked::Nudge([0.0, -10.0]), "", "").shift(true),
            named(Key::ArrowUp, Asked::Nudge([0.0, 10.0]), "", "").shift(true),
            named(Key::Delete, Asked::Delete, "Delete", "Remove the part in hand"),
            named(Key::Backspace, Asked::Delete, "", ""),
            letter("d", Asked::Copy, "Ctrl+D", "Copy the part in hand").command(),
            letter("m", Asked::Mirror, "Ctrl+M", "Its mirror image across the middle").command(),
        ],
    ),
    (
        "Window",
        &[
            named(Key::PageDown, Asked::Topic(1), "Ctrl+Page down", "Next topic of the inputs").command().always(),
            named(Key::PageUp, Asked::Topic(-1), "Ctrl+Page up", "Former topic").command().always(),
            named(Key::F6, Asked::NextColumn, "F6", "Keyboard to the next column").always(),
            named(Key::F1, Asked::Keys, "F1, ?", "These keys").always(),
            letter("?", Asked::Keys, "", ""),
            named(Key::Escape, Asked::Unselect, "Esc", "Close, let go"),
        ],
    ),
];

/// Keys that belong to what has the keyboard, for the list: a heading, keys, what they do.
pub(super) const ELSEWHERE: (&str, &[(&str, &str)]) = (
    "In the columns",
    &[
        ("Tab, Shift+Tab", "Next, former"),
        ("Enter, Space", "Press what has the keyboard"),
        ("Up, down", "Nudge a number"),
        ("Page up, page down", "Ten nudges"),
        ("Enter", "Take what was typed"),
        ("Esc", "Leave the number as it was"),
    ],
);

/// What a key asks for with the modifiers that are held as it goes down.
fn asked(held: &Held, key: &KeyboardInput) -> Option<&'static Shortcut> {
    if key.state == ButtonState::Released {
        return None;
    }
    let small = match &key.logical_key {
        Key::Character(text) => Some(text.to_lowercase()),
        _ => None,
    };
    let mut all = TABLE.iter().flat_map(|(_, shortcuts)| shortcuts.iter());
    all.find(|shortcut| {
        let is = match &shortcut.press {
            Press::Text(wanted) => small.as_deref() == Some(*wanted),
            Press::Named(wanted) => *wanted == key.logical_key,
        };
        let shift = shortcut.shift.is_none_or(|wanted| wanted == held.shift());
        is && shortcut.command == held.command() && shift
    })
}

/// What is remembered from frame to frame.
#[derive(Debug, Default)]
pub struct State {
    held: Held,
    /// File commands that wait for what was being typed.
    late: Vec<FileCommand>,
    /// Whether a sheet was open.
    sheet: bool,
    /// Whether something was being typed.
    typing: bool,
}

/// Takes the keys of this frame.
pub fn take_keys(
    mut heard: MessageReader<WindowEvent>,
    mut state: Local<State>,
    files: Res<Files>,
    mut desk: ResMut<Desk>,
    mut view: ResMut<View>,
    mut reach: ResMut<ReachPage>,
    mut comparison: ResMut<Comparison>,
    (mut hand, mut choice): (ResMut<Hand>, ResMut<Choice>),
    document: Res<Document>,
    (mut edits, mut commands, mut redraw): (
        MessageWriter<Edit>,
        MessageWriter<FileCommand>,
        MessageWriter<RequestRedraw>,
    ),
    mut contexts: EguiContexts,
) -> Result {
    commands.write_batch(state.late.drain(..));
    // What closes with a key is closed by the interface, before the key comes here.
    let sheet = std::mem::replace(&mut state.sheet, desk.sheet.is_some()) || desk.sheet.is_some();
    let ctx = contexts.ctx_mut()?;
    // While something is typed, all but the file commands belongs to it.
    // What was typed and left within one frame was typed all the same.
    let typing = std::mem::replace(&mut state.typing, ctx.text_edit_focused()) || ctx.text_edit_focused();
    let mut nudge = None;
    let mut all = Vec::new();
    state.held.follow(heard.read(), |held, key| {
        // The keyboard moves on with the frame after the key.
        if key.logical_key == Key::Tab {
            redraw.write(RequestRedraw);
        }
        all.extend(asked(held, key));
    });
    for shortcut in all {
        if files.question.is_some() || (typing && !shortcut.always) {
            continue;
        }
        redraw.write(RequestRedraw);
        match shortcut.asked.clone() {
            Asked::File(command) => match ctx.memory(Memory::focused) {
                // What is being typed counts as entered, which takes a frame.
                Some(focused) => {
                    ctx.memory_mut(|memory| memory.surrender_focus(focused));
                    state.late.push(command);
                }
                None => {
                    commands.write(command);
                }
            },
            Asked::Keys => desk.sheet = if desk.sheet == Some(Sheet::Keys) { None } else { Some(Sheet::Keys) },
            Asked::Picture => desk.sheet = if desk.sheet == Some(Sheet::Picture) { None } else { Some(Sheet::Picture) },
            _ if sheet => {}
            Asked::Topic(by) => {
                if let Some(focused) = ctx.memory(Memory::focused) {
                    ctx.memory_mut(|memory| memory.surrender_focus(focused));
                }
                desk.page = desk.page.beside(by);
            }
            Asked::NextColumn => {
                desk.turn(reach.open);
            }
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
            Asked::Angles => desk.writing.angles = !desk.writing.angles,
            Asked::Distances => desk.writing.distances = !desk.writing.distances,
            Asked::Dimensions => desk.writing.dimensions = !desk.writing.dimensions,
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
                    && let Some(held) = choice.held
                {
                    let [x, y, _] = view.eye.axes();
                    let toward = x * right + y * up;
                    // Several may come in one frame.
                    let from = nudge.as_ref().unwrap_or(document.good());
                    nudge = nudged(from, held, toward, toward.norm() * nudge_mm()).or(nudge);
                }
            }
            Asked::Copy | Asked::Mirror => {
                let again = if shortcut.asked == Asked::Copy { copied } else { mirrored };
                if let Some((project, held)) = choice.held.and_then(|held| again(document.draft(), held)) {
                    choice.held = Some(held);
                    desk.turn_to(held, &project);
                    edits.write(Edit::Draft { project: Box::new(project), stroke: None });
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
    if let Some(project) = nudge {
        edits.write(Edit::Draft { project: Box::new(project), stroke: None });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use bevy::input::keyboard::KeyCode;

    use super::{super::typing::tests::key, *};

    /// What the keys ask for that go down and up in this order.
    fn all_asked(events: &[WindowEvent]) -> Vec<Asked> {
        let mut all = Vec::new();
        Held::default().follow(events.iter(), |held, key| {
            all.extend(asked(held, key).map(|shortcut| shortcut.asked.clone()));
        });
        all
    }

    #[test]
    fn keys_are_taken_in_their_order_within_a_frame() {
        let (down, up) = (ButtonState::Pressed, ButtonState::Released);
        let control = |state| key(KeyCode::ControlLeft, Key::Control, state);
        let shift = |state| key(KeyCode::ShiftLeft, Key::Shift, state);
        let letter = |code, text: &str| key(code, Key::Character(text.into()), down);
        let arrow = || key(KeyCode::ArrowUp, Key::ArrowUp, down);
        let frame = [
            control(down),
            letter(KeyCode::KeyS, "s"),
            shift(down),
            letter(KeyCode::KeyZ, "Z"),
            shift(up),
            control(up),
            letter(KeyCode::Digit2, "2"),
            letter(KeyCode::KeyZ, "z"),
            letter(KeyCode::Digit0, "0"),
            arrow(),
            shift(down),
            arrow(),
            letter(KeyCode::Slash, "?"),
        ];
        let wanted = [
            Asked::File(FileCommand::Save),
            Asked::Redo,
            Asked::View(StandardView::Top),
            Asked::Nudge([0.0, 1.0]),
            Asked::Nudge([0.0, 10.0]),
            Asked::Keys,
        ];
        assert_eq!(all_asked(&frame), wanted);
    }

    #[test]
    fn a_quick_command_is_never_taken_for_its_letter() {
        let (down, up) = (ButtonState::Pressed, ButtonState::Released);
        let control = |state| key(KeyCode::ControlLeft, Key::Control, state);
        let letter = |state| key(KeyCode::KeyD, Key::Character("d".into()), state);
        assert_eq!(all_asked(&[control(down), letter(down), letter(up), control(up)]), [Asked::Copy]);
        assert_eq!(all_asked(&[control(down), letter(down), control(up), letter(up)]), [Asked::Copy]);
        assert_eq!(all_asked(&[letter(down), control(down), letter(up), control(up)]), [Asked::Tool(Tool::Drive)]);
    }

    #[test]
    fn no_key_asks_for_two_things() {
        let all: Vec<_> = TABLE.iter().flat_map(|(_, shortcuts)| shortcuts.iter()).collect();
        for (at, one) in all.iter().enumerate() {
            for other in &all[at + 1..] {
                let shift = one.shift.is_none() || other.shift.is_none() || one.shift == other.shift;
                assert!(one.press != other.press || one.command != other.command || !shift, "{one:?} and {other:?}");
            }
        }
    }

    #[test]
    fn views_and_tools_have_the_keys_that_their_buttons_say() {
        let of = |text: &str| {
            // The place on the keyboard does not matter.
            let event = key(KeyCode::KeyA, Key::Character(text.into()), ButtonState::Pressed);
            all_asked(&[event]).pop()
        };
        for tool in Tool::ALL {
            assert_eq!(of(tool.key()), Some(Asked::Tool(tool)));
        }
        for (index, view) in StandardView::ALL.into_iter().enumerate() {
            assert_eq!(of(&(index + 1).to_string()), Some(Asked::View(view)));
        }
    }
}
