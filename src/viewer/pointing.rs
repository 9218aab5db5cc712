//! What the pointer does, one place after another: where frames take long, a press here and one there may come within
//! one of them, and the interface would look for both where the pointer is at its end.

use bevy::{prelude::*, window::RequestRedraw};
use bevy_egui::{
    EguiInput, PrimaryEguiContext,
    egui::{Event, Pos2},
};

/// How many events come before the pointer does something at another place than where a button went down or up.
fn until_elsewhere(events: &[Event]) -> usize {
    let mut pressed: Option<Pos2> = None;
    for (index, event) in events.iter().enumerate() {
        let (Event::PointerMoved(at) | Event::PointerButton { pos: at, .. }) = event else { continue };
        if pressed.is_some_and(|pressed| pressed != *at) {
            return index;
        }
        if matches!(event, Event::PointerButton { .. }) {
            pressed = Some(*at);
        }
    }
    events.len()
}

/// Leaves what the pointer did elsewhere to the next frame, which is asked for.
pub(super) fn place_by_place(
    mut inputs: Query<&mut EguiInput, With<PrimaryEguiContext>>,
    mut left: Local<Vec<Event>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let Ok(mut input) = inputs.single_mut() else { return };
    if !left.is_empty() {
        let newer = std::mem::take(&mut input.events);
        input.events = std::mem::take(&mut *left);
        input.events.extend(newer);
    }
    let now = until_elsewhere(&input.events);
    if now < input.events.len() {
        *left = input.events.split_off(now);
        redraw.write(RequestRedraw);
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::{self, Modifiers, PointerButton, RawInput, pos2};

    use super::*;

    fn press(x: f32, pressed: bool) -> Event {
        Event::PointerButton { pos: pos2(x, 10.0), button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE }
    }

    fn moved(x: f32) -> Event {
        Event::PointerMoved(pos2(x, 10.0))
    }

    /// How often the left and the right of two buttons were clicked, given frames of events.
    fn clicked(frames: &[&[Event]]) -> [usize; 2] {
        let ctx = egui::Context::default();
        let mut count = [0; 2];
        let mut pass = |events: &[Event]| {
            let mut output = ctx.run_ui(RawInput { events: events.to_vec(), ..RawInput::default() }, |ui| {
                for (index, x) in [0.0, 100.0].into_iter().enumerate() {
                    let rect = egui::Rect::from_min_size(pos2(x, 0.0), egui::vec2(80.0, 20.0));
                    let button = ui.interact(rect, egui::Id::new(index), egui::Sense::click());
                    count[index] += usize::from(button.clicked());
                }
            });
            // Nothing is drawn.
            output.textures_delta.clear();
        };
        pass(&[]);
        pass(&[]);
        for events in frames {
            pass(events);
        }
        pass(&[]);
        count
    }

    #[test]
    fn clicks_at_two_places_within_a_frame_are_two_clicks() {
        let all =
            [moved(40.0), press(40.0, true), press(40.0, false), moved(140.0), press(140.0, true), press(140.0, false)];
        assert_ne!(clicked(&[&all]), [1, 1], "left to itself the interface loses one");
        let now = until_elsewhere(&all);
        assert_eq!(now, 3);
        assert_eq!(until_elsewhere(&all[now..]), 3);
        assert_eq!(clicked(&[&all[..now], &all[now..]]), [1, 1]);
    }

    #[test]
    fn a_drag_begins_where_it_was_pressed_and_a_plain_click_is_not_cut() {
        let drag = [moved(40.0), press(40.0, true), moved(90.0), moved(140.0), press(140.0, false), moved(150.0)];
        assert_eq!(until_elsewhere(&drag), 2);
        assert_eq!(until_elsewhere(&drag[2..]), 3);
        let click = [moved(10.0), moved(40.0), press(40.0, true), press(40.0, false), Event::Text("m".to_owned())];
        assert_eq!(until_elsewhere(&click), 5);
    }
}
