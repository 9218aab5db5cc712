//! Parts to begin with, on the page of their kind.

use bevy_egui::egui::{Align, Layout, RichText, ScrollArea, Ui};

use super::inputs::Column;
use crate::{
    project::{Page, Project, Template, TemplatePart},
    viewer::{
        files::{FileCommand, Purpose},
        theme::{HALF, SMALL},
    },
};

/// Width of the list, points.
const WIDTH: f32 = 280.0;

/// The page on which a part is asked for.
const fn page_of(part: &TemplatePart) -> Page {
    match part {
        TemplatePart::Seat(_) => Page::Seat,
        TemplatePart::Rim(_) | TemplatePart::WheelUnit(_) => Page::Wheel,
        TemplatePart::Pedals(_) => Page::Pedals,
        TemplatePart::Screens(_) | TemplatePart::ScreenStand(_) => Page::Screens,
        TemplatePart::Controls(_) => Page::Controls,
    }
}

impl Column<'_> {
    /// The list of parts of this page's kind, if it has any; the one that is clicked takes the place of what was there.
    pub(super) fn templates_ui(&mut self, ui: &mut Ui, draft: &mut Project) {
        let here: Vec<_> =
            Template::known().iter().filter(|(template, _)| page_of(&template.part) == *self.page).collect();
        if here.is_empty() {
            return;
        }
        ui.add_space(HALF);
        let theme = self.theme;
        let mut taken = None;
        ui.menu_button(RichText::new("Begin with a part…").color(theme.accent), |ui| {
            ui.set_width(WIDTH);
            ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
                for (template, about) in here {
                    if ui.button(&template.title).on_hover_text(about).clicked() {
                        taken = Some(template.clone());
                        ui.close();
                    }
                    // Menus stretch what is in them, also words.
                    ui.with_layout(Layout::top_down(Align::LEFT), |ui| {
                        ui.label(RichText::new(about).size(SMALL).color(theme.quiet));
                    });
                    ui.add_space(HALF);
                }
                ui.separator();
                if ui.button("One of your own, from a file…").clicked() {
                    self.commands.push(FileCommand::Ask(Purpose::Template));
                    ui.close();
                }
            });
        })
        .response
        .on_hover_text("Its numbers take the place of those below; Undo brings them back");
        if let Some(template) = taken {
            template.put_into(draft);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::TEMPLATES;

    #[test]
    fn every_template_stands_on_a_page_with_a_line_about_it() {
        assert_eq!(Template::known().len(), TEMPLATES.len());
        for page in [Page::Seat, Page::Wheel, Page::Pedals, Page::Controls] {
            assert!(Template::known().iter().any(|(template, _)| page_of(&template.part) == page), "{page:?}");
        }
    }
}
