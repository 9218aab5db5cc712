//! What is typed, with the modifier keys that were held at that moment: press and release of several keys may come
//! within one frame.

use bevy::{
    input::{
        ButtonState,
        keyboard::{Key, KeyCode, KeyboardFocusLost, KeyboardInput},
    },
    prelude::*,
    window::{WindowEvent, WindowFocused},
};
use bevy_egui::{
    EguiClipboard, EguiGlobalSettings, EguiInput, EguiInputSet, PrimaryEguiContext,
    egui::{Event, Modifiers},
    helpers::{bevy_to_egui_key, bevy_to_egui_physical_key},
    input::EguiInputEvent,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Modifier {
    Shift,
    Control,
    Alt,
    Super,
}

/// The modifier keys that are held, each by its place on the keyboard: there are two of most.
#[derive(Clone, Debug, Default)]
pub(super) struct Held(Vec<(KeyCode, Modifier)>);

impl Held {
    /// Takes a key as it goes down or up.
    pub(super) fn take(&mut self, key: &KeyboardInput) {
        // It is the same key when it is let go, even if it has another meaning by then.
        self.0.retain(|(place, _)| *place != key.key_code);
        let modifier = match key.logical_key {
            Key::Shift => Modifier::Shift,
            Key::Control => Modifier::Control,
            Key::Alt => Modifier::Alt,
            Key::Super | Key::Meta => Modifier::Super,
            _ => return,
        };
        if key.state == ButtonState::Pressed {
            self.0.push((key.key_code, modifier));
        }
    }

    /// Keys of this window's keyboard in the order in which they go down and up, each given to `each` with what is
    /// held then; a key that is let go in another window is not heard of.
    pub(super) fn follow<'a>(
        &mut self,
        events: impl Iterator<Item = &'a WindowEvent>,
        mut each: impl FnMut(&Self, &'a KeyboardInput),
    ) {
        for event in events {
            match event {
                WindowEvent::KeyboardInput(key) => {
                    self.take(key);
                    each(self, key);
                }
                WindowEvent::KeyboardFocusLost(KeyboardFocusLost)
                | WindowEvent::WindowFocused(WindowFocused { focused: false, .. }) => self.0.clear(),
                _ => {}
            }
        }
    }

    fn holds(&self, modifier: Modifier) -> bool {
        self.0.iter().any(|(_, held)| *held == modifier)
    }

    /// Whether letters are commands.
    pub(super) fn command(&self) -> bool {
        self.holds(Modifier::Control) || self.holds(Modifier::Super)
    }

    pub(super) fn shift(&self) -> bool {
        self.holds(Modifier::Shift)
    }

    /// As the interface has them.
    fn modifiers(&self) -> Modifiers {
        let mac = cfg!(target_os = "macos");
        let (ctrl, win) = (self.holds(Modifier::Control), self.holds(Modifier::Super));
        Modifiers {
            alt: self.holds(Modifier::Alt),
            ctrl,
            shift: self.shift(),
            mac_cmd: mac && win,
            command: if mac { win } else { ctrl },
        }
    }

    /// Whether a key types what stands on it. Where there is no key of its own for the third letters of keys, they
    /// are reached by Ctrl and Alt.
    fn types(&self) -> bool {
        let third = !cfg!(target_os = "macos") && self.holds(Modifier::Control) && self.holds(Modifier::Alt);
        !self.command() || third
    }
}

/// What a key means to the interface.
fn events(held: &Held, key: &KeyboardInput, clipboard: impl FnOnce() -> Option<String>, mut write: impl FnMut(Event)) {
    let pressed = key.state == ButtonState::Pressed;
    if pressed && held.types() {
        match &key.logical_key {
            Key::Character(text) if !text.chars().any(char::is_control) => write(Event::Text(text.to_string())),
            Key::Space => write(Event::Text(" ".to_owned())),
            _ => {}
        }
    }
    // Where the letters are not Latin, the place on the keyboard tells.
    let physical_key = bevy_to_egui_physical_key(&key.key_code);
    let Some(logical) = bevy_to_egui_key(&key.logical_key).or(physical_key) else { return };
    let modifiers = held.modifiers();
    write(Event::Key { key: logical, physical_key, pressed, repeat: false, modifiers });
    if pressed && modifiers.command {
        match logical {
            bevy_egui::egui::Key::C => write(Event::Copy),
            bevy_egui::egui::Key::X => write(Event::Cut),
            bevy_egui::egui::Key::V => {
                if let Some(text) = clipboard() {
                    write(Event::Paste(text));
                }
            }
            _ => {}
        }
    }
}

/// Keys come to the interface in their order, in place of the library's way, which gives to all keys of a frame the
/// modifiers that are held when it ends.
pub(super) fn typing(app: &mut App) {
    if let Some(mut settings) = app.world_mut().get_resource_mut::<EguiGlobalSettings>() {
        settings.input_system_settings.run_write_keyboard_input_messages_system = false;
    }
    app.add_systems(PreUpdate, type_in_order.in_set(EguiInputSet::ReadBevyMessages));
}

fn type_in_order(
    mut heard: MessageReader<WindowEvent>,
    mut held: Local<Held>,
    mut clipboard: ResMut<EguiClipboard>,
    contexts: Query<Entity, With<PrimaryEguiContext>>,
    mut write: MessageWriter<EguiInputEvent>,
) {
    let Ok(context) = contexts.single() else { return };
    held.follow(heard.read(), |held, key| {
        events(
            held,
            key,
            || clipboard.get_text(),
            |event| {
                write.write(EguiInputEvent { context, event });
            },
        );
    });
}

/// Takes back the modifier keys that are reported in each frame though nothing has changed: each report would ask for
/// one more frame, and so on for ever.
pub(super) fn quiet_modifiers(mut inputs: Query<&mut EguiInput>, mut last: Local<Option<Modifiers>>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            Event::ModifiersChanged(now) => last.replace(*now) != Some(*now),
            _ => true,
        });
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bevy_egui::egui::{self, RawInput, TextEdit};

    use super::*;

    const DOWN: ButtonState = ButtonState::Pressed;
    const UP: ButtonState = ButtonState::Released;

    pub(in super::super) fn key(code: KeyCode, logical: Key, state: ButtonState) -> WindowEvent {
        WindowEvent::KeyboardInput(KeyboardInput {
            key_code: code,
            logical_key: logical,
            state,
            text: None,
            repeat: false,
            window: Entity::PLACEHOLDER,
        })
    }

    fn letter(code: KeyCode, text: &str, state: ButtonState) -> WindowEvent {
        key(code, Key::Character(text.into()), state)
    }

    fn frame(keys: &[WindowEvent]) -> Vec<Event> {
        let mut all = Vec::new();
        Held::default().follow(keys.iter(), |held, key| {
            events(held, key, || Some("pasted".to_owned()), |event| all.push(event));
        });
        all
    }

    /// What stands in a text field, with the keyboard at its end, after a frame with these keys.
    fn field_after(keys: &[WindowEvent]) -> String {
        let ctx = egui::Context::default();
        let mut text = "Bertil".to_owned();
        let mut pass = |events: Vec<Event>| {
            let mut output = ctx.run_ui(RawInput { events, ..RawInput::default() }, |ui| {
                ui.add(TextEdit::singleline(&mut text).id(egui::Id::new("field"))).request_focus();
            });
            // Nothing is drawn.
            output.textures_delta.clear();
        };
        pass(Vec::new());
        pass(Vec::new());
        pass(frame(keys));
        text
    }

    #[test]
    fn a_command_typed_within_one_frame_leaves_no_letter_in_a_field() {
        let control = |state| key(KeyCode::ControlLeft, Key::Control, state);
        for (code, text) in [(KeyCode::KeyP, "p"), (KeyCode::KeyS, "s"), (KeyCode::KeyZ, "z")] {
            let quick = [control(DOWN), letter(code, text, DOWN), letter(code, text, UP), control(UP)];
            assert_eq!(field_after(&quick), "Bertil");
            // The letter may be let go last, and what follows is typed again.
            let rolled = [control(DOWN), letter(code, text, DOWN), control(UP), letter(code, text, UP)];
            assert_eq!(field_after(&[&rolled[..], &[letter(code, text, DOWN)]].concat()), format!("Bertil{text}"));
        }
        let paste = [control(DOWN), letter(KeyCode::KeyV, "v", DOWN), control(UP)];
        assert_eq!(field_after(&paste), "Bertilpasted");
    }

    #[test]
    fn a_letter_before_a_command_of_the_same_frame_is_typed() {
        let keys = [
            letter(KeyCode::KeyX, "x", DOWN),
            key(KeyCode::ControlLeft, Key::Control, DOWN),
            letter(KeyCode::KeyS, "s", DOWN),
        ];
        assert_eq!(field_after(&keys), "Bertilx");
    }

    #[test]
    fn third_letters_by_control_and_alt_are_typed() {
        let keys = [
            key(KeyCode::ControlLeft, Key::Control, DOWN),
            key(KeyCode::AltRight, Key::Alt, DOWN),
            letter(KeyCode::KeyQ, "@", DOWN),
        ];
        assert_eq!(field_after(&keys) == "Bertil@", !cfg!(target_os = "macos"));
    }

    #[test]
    fn a_modifier_is_held_until_its_own_key_is_let_go() {
        let mut held = Held::default();
        let mut after = |event: &WindowEvent| {
            held.follow(std::iter::once(event), |_, _| {});
            held.command()
        };
        assert!(after(&key(KeyCode::ControlLeft, Key::Control, DOWN)));
        // A held key repeats itself.
        assert!(after(&key(KeyCode::ControlLeft, Key::Control, DOWN)));
        assert!(after(&key(KeyCode::ControlRight, Key::Control, DOWN)));
        assert!(after(&key(KeyCode::ControlLeft, Key::Control, UP)));
        assert!(!after(&key(KeyCode::ControlRight, Key::Control, UP)));
        assert!(after(&key(KeyCode::ControlLeft, Key::Control, DOWN)));
        assert!(!after(&WindowEvent::KeyboardFocusLost(KeyboardFocusLost)));
    }
}
