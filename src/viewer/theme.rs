//! Every colour, size and type of the window and of pictures.
//!
//! Two themes, paper and graphite. Levels carry a word and a mark as well as a colour; their colours are Okabe and
//! Ito's (Color Universal Design, 2008), which the common kinds of colour blindness tell apart.

use bevy::{color::LinearRgba, prelude::Resource};
use bevy_egui::egui::{
    self, Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Shadow, Stroke, TextStyle,
    Vec2, Visuals,
};

use super::reach::Tint;
use crate::{findings::Level, rig::SurfaceKind};

/// The step of all distances, points.
pub const RHYTHM: f32 = 8.0;
/// Half a step, between what belongs together.
pub const HALF: f32 = 4.0;
/// Text of notes, units and balloons, points.
pub const SMALL: f32 = 11.0;
/// Text of rows and sentences, points.
pub const BODY: f32 = 13.0;
/// Text of headings, points.
pub const TITLE: f32 = 17.0;
/// Radius of a numbered balloon, points.
pub const BALLOON: f32 = 10.0;
/// Thick line of a drawing (ISO 128: twice the thin one), points.
pub const THICK: f32 = 2.0;
/// Thin line of a drawing: dimensions, leaders, points.
pub const THIN: f32 = 1.0;

/// The stronger cut of the typeface, for headings and what holds.
pub fn strong(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("strong".into()))
}

/// The typeface: its figures are all of one width. Marks that it lacks come from the interface's own.
pub fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let regular = FontData::from_static(include_bytes!("../../assets/fonts/plex_sans_regular.ttf"));
    let medium = FontData::from_static(include_bytes!("../../assets/fonts/plex_sans_medium.ttf"));
    fonts.font_data.insert("regular".to_owned(), regular.into());
    fonts.font_data.insert("strong".to_owned(), medium.into());
    let mut others = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    others.insert(0, "regular".to_owned());
    fonts.families.insert(FontFamily::Proportional, others.clone());
    others.insert(0, "strong".to_owned());
    fonts.families.insert(FontFamily::Name("strong".into()), others);
    fonts
}

/// Width of a column in a window `width` points wide: the view keeps three fifths of the window.
pub fn column_width(width: f32) -> f32 {
    (width * 0.172).clamp(216.0, 260.0).round()
}

/// Height of the strip of wheel and pedals, points.
pub const STRIP: f32 = 64.0;

/// On what the drawing is made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ground {
    /// Dark lines on light paper.
    #[default]
    Paper,
    /// Light lines on graphite.
    Graphite,
}

impl Ground {
    /// What it is called on the button that switches to it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Paper => "Paper",
            Self::Graphite => "Graphite",
        }
    }
}

/// How a kind of matter looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matter {
    /// Colour under full light.
    pub colour: Color32,
    /// 0 chalk to 1 polished.
    pub gloss: f32,
    /// 0 a hard terminator to 1 light that creeps round the edge, as on clay.
    pub soft: f32,
}

/// The colours of one ground.
#[derive(Clone, Debug, PartialEq, Resource)]
pub struct Theme {
    /// Which one.
    pub ground: Ground,
    /// The floor and the air of the view.
    pub paper: Color32,
    /// Columns and strip.
    pub panel: Color32,
    /// Under a row that is pointed at or selected.
    pub wash: Color32,
    /// Text and drawn lines.
    pub ink: Color32,
    /// Units, notes, sources.
    pub quiet: Color32,
    /// Lines between areas.
    pub hairline: Color32,
    /// What is selected.
    pub accent: Color32,
    /// Grid line each 100 mm.
    pub grid_fine: Color32,
    /// Grid line each 500 mm.
    pub grid_strong: Color32,
    /// Light from above.
    pub sky: Color32,
    /// Light that the floor gives back.
    pub bounce: Color32,
    /// Depth of the shadow under things, 0 to 1.
    pub shadow: f32,
    /// Body and head.
    pub body: Matter,
    /// Shoes.
    pub shoe: Matter,
    /// Somebody else, seen through.
    pub ghost: Matter,
    /// The kept state that is compared with: without a hue of its own, so that it is nobody's.
    pub kept: Matter,
    /// The boundaries of reach, from the innermost; last where a control can stand.
    reach: [Color32; 5],
    shell: Matter,
    foam: Matter,
    grip: Matter,
    housing: Matter,
    metal: Matter,
    rail: Matter,
    control: Matter,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const fn matter(hex: u32, gloss: f32, soft: f32) -> Matter {
    Matter { colour: rgb(hex), gloss, soft }
}

impl Theme {
    /// The theme of a ground.
    pub const fn of(ground: Ground) -> Self {
        let clay = matter(0x00D0_9A7C, 0.10, 1.0);
        match ground {
            Ground::Paper => Self {
                ground,
                paper: rgb(0x00F1_EDE5),
                panel: rgb(0x00FA_F8F4),
                wash: rgb(0x00EC_E7DD),
                ink: rgb(0x001C_1E20),
                quiet: rgb(0x005A_5C60),
                hairline: rgb(0x00DB_D5C9),
                accent: rgb(0x0000_629C),
                grid_fine: rgb(0x00E4_DFD4),
                grid_strong: rgb(0x00CF_C8BA),
                sky: rgb(0x00F4_F6FA),
                bounce: rgb(0x00E6_D9C6),
                shadow: 0.85,
                body: clay,
                shoe: matter(0x0038_393C, 0.25, 0.2),
                ghost: matter(0x0032_82B4, 0.10, 0.6),
                kept: matter(0x0024_282E, 0.05, 0.5),
                shell: matter(0x0037_393D, 0.45, 0.0),
                foam: matter(0x006B_6D71, 0.04, 0.6),
                grip: matter(0x002A_2B2E, 0.18, 0.2),
                housing: matter(0x003C_3E42, 0.30, 0.0),
                metal: matter(0x00B9_BBBD, 0.75, 0.0),
                rail: matter(0x00C3_C6C8, 0.60, 0.0),
                control: matter(0x0000_72B2, 0.20, 0.3),
                reach: [rgb(0x0000_7F5C), rgb(0x0000_69A8), rgb(0x00A9_6C00), rgb(0x00A3_4580), rgb(0x003A_3C40)],
            },
            Ground::Graphite => Self {
                ground,
                paper: rgb(0x002F_3134),
                panel: rgb(0x0026_282B),
                wash: rgb(0x0034_373B),
                ink: rgb(0x00EA_E8E3),
                quiet: rgb(0x00A9_A9A6),
                hairline: rgb(0x0041_4448),
                accent: rgb(0x0056_B4E9),
                grid_fine: rgb(0x0037_393D),
                grid_strong: rgb(0x0046_494D),
                sky: rgb(0x00DD_E4EE),
                bounce: rgb(0x0072_6C66),
                shadow: 0.95,
                body: clay,
                shoe: matter(0x001F_2022, 0.25, 0.2),
                ghost: matter(0x0032_82B4, 0.10, 0.6),
                kept: matter(0x00D8_D8D4, 0.05, 0.5),
                shell: matter(0x0024_2629, 0.50, 0.0),
                foam: matter(0x0059_5B60, 0.04, 0.6),
                grip: matter(0x001B_1C1E, 0.18, 0.2),
                housing: matter(0x0025_2629, 0.35, 0.0),
                metal: matter(0x00A9_ABAE, 0.75, 0.0),
                rail: matter(0x00A4_A7AA, 0.60, 0.0),
                control: matter(0x0056_B4E9, 0.20, 0.3),
                reach: [rgb(0x002F_C999), rgb(0x0056_B4E9), rgb(0x00F0_B440), rgb(0x00E0_94C2), rgb(0x00EA_E8E3)],
            },
        }
    }

    /// The colour of a boundary of reach, for its surface and its lines: after Okabe and Ito, darker or lighter so that
    /// lines stand out from the ground.
    pub const fn reach(&self, tint: Tint) -> Color32 {
        self.reach[tint.index()]
    }

    /// The look of a part of the rig.
    pub const fn matter(&self, kind: SurfaceKind) -> Matter {
        match kind {
            SurfaceKind::Shell => self.shell,
            SurfaceKind::Foam => self.foam,
            SurfaceKind::Grip => self.grip,
            SurfaceKind::Housing => self.housing,
            SurfaceKind::Metal => self.metal,
            SurfaceKind::Rail => self.rail,
            SurfaceKind::Control => self.control,
        }
    }

    /// The look of a part that is in hand: its own, well towards the colour of what is chosen.
    pub fn held(&self, matter: Matter) -> Matter {
        Matter { colour: matter.colour.lerp_to_gamma(self.accent, 0.55), ..matter }
    }

    /// The fill of a level's mark and balloon; dark enough ink stands on it in both themes: [`Theme::on_level`].
    pub const fn level(&self, level: Level) -> Color32 {
        match level {
            Level::Good => rgb(0x0000_9E73),
            Level::Borderline => rgb(0x00E6_9F00),
            Level::Outside => rgb(0x00D5_5E00),
        }
    }

    /// Number on a level's fill.
    pub const fn on_level(&self) -> Color32 {
        rgb(0x0010_1112)
    }

    /// A thin line in ink.
    pub const fn thin(&self) -> Stroke {
        Stroke { width: THIN, color: self.ink }
    }

    /// A line between areas.
    pub const fn rule(&self) -> Stroke {
        Stroke { width: THIN, color: self.hairline }
    }

    /// Gives the interface this theme's colours, sizes and type.
    pub fn dress(&self, ctx: &egui::Context) {
        let mut style = egui::Style { visuals: self.visuals(), ..Default::default() };
        style.text_styles = [
            (TextStyle::Small, SMALL),
            (TextStyle::Body, BODY),
            (TextStyle::Button, BODY),
            (TextStyle::Monospace, BODY),
        ]
        .into_iter()
        .map(|(style, size)| (style, FontId::new(size, FontFamily::Proportional)))
        .chain([(TextStyle::Heading, strong(TITLE))])
        .collect();
        style.drag_value_text_style = TextStyle::Body;
        style.spacing.item_spacing = Vec2::new(RHYTHM, HALF);
        style.spacing.button_padding = Vec2::new(6.0, 2.0);
        style.spacing.window_margin = Margin::same(16);
        style.spacing.menu_margin = Margin::same(8);
        style.spacing.interact_size = Vec2::new(32.0, 22.0);
        style.spacing.scroll = egui::style::ScrollStyle::thin();
        style.spacing.combo_width = 88.0;
        style.interaction.selectable_labels = false;
        style.explanation_tooltips = false;
        // Nothing moves by itself.
        style.animation_time = 0.0;
        style.scroll_animation = egui::style::ScrollAnimation::none();
        ctx.set_theme(match self.ground {
            Ground::Paper => egui::Theme::Light,
            Ground::Graphite => egui::Theme::Dark,
        });
        ctx.all_styles_mut(|all| *all = style.clone());
    }

    fn visuals(&self) -> Visuals {
        let mut visuals = match self.ground {
            Ground::Paper => Visuals::light(),
            Ground::Graphite => Visuals::dark(),
        };
        visuals.override_text_color = None;
        visuals.weak_text_color = Some(self.quiet);
        visuals.hyperlink_color = self.accent;
        visuals.panel_fill = self.panel;
        visuals.window_fill = self.panel;
        visuals.window_stroke = self.rule();
        visuals.window_shadow = Shadow { offset: [0, 6], blur: 24, spread: 0, color: Color32::from_black_alpha(48) };
        visuals.popup_shadow = visuals.window_shadow;
        visuals.window_corner_radius = CornerRadius::same(4);
        visuals.menu_corner_radius = CornerRadius::same(4);
        visuals.extreme_bg_color = self.paper;
        visuals.faint_bg_color = self.wash;
        visuals.selection.bg_fill = self.accent.gamma_multiply(0.28);
        visuals.selection.stroke = Stroke::new(THIN, self.accent);
        visuals.text_cursor.blink = false;
        visuals.text_cursor.stroke = Stroke::new(1.5, self.accent);
        visuals.slider_trailing_fill = true;
        visuals.indent_has_left_vline = false;

        let widgets = &mut visuals.widgets;
        for (state, fill, ink, outline) in [
            (&mut widgets.noninteractive, self.panel, self.ink, self.hairline),
            (&mut widgets.inactive, self.wash, self.ink, Color32::TRANSPARENT),
            (&mut widgets.hovered, self.wash, self.ink, self.quiet),
            (&mut widgets.active, self.wash, self.ink, self.accent),
            (&mut widgets.open, self.wash, self.ink, self.accent),
        ] {
            state.bg_fill = fill;
            state.weak_bg_fill = fill;
            state.fg_stroke = Stroke::new(1.5, ink);
            state.bg_stroke = Stroke::new(THIN, outline);
            state.corner_radius = CornerRadius::same(3);
            state.expansion = 0.0;
        }
        visuals
    }
}

/// A colour as the renderer takes it.
pub fn linear(colour: Color32) -> LinearRgba {
    let [r, g, b, a] = egui::Rgba::from(colour).to_array();
    LinearRgba { red: r, green: g, blue: b, alpha: a }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio: WCAG 2.2, definitions. WCAG 2.1 has 0.03928 for the bend; no byte lies
    /// between the two (10 / 255 = 0.0392, 11 / 255 = 0.0431).
    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |colour: Color32| {
            let channel = |byte: u8| {
                let c = f64::from(byte) / 255.0;
                if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * channel(colour.r()) + 0.7152 * channel(colour.g()) + 0.0722 * channel(colour.b())
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// What is seen of a colour that lets others through (its channels are multiplied by its share already).
    fn over(front: Color32, back: Color32) -> Color32 {
        let left = 1.0 - f32::from(front.a()) / 255.0;
        let channel = |front: u8, back: u8| (f32::from(front) + left * f32::from(back)).round() as u8;
        Color32::from_rgb(channel(front.r(), back.r()), channel(front.g(), back.g()), channel(front.b(), back.b()))
    }

    #[test]
    fn contrast_agrees_with_the_definition_at_its_ends() {
        // WCAG 2.2: 21:1 between black and white, 1:1 between equals.
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(Color32::GRAY, Color32::GRAY) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn all_text_has_at_least_4_5_to_1_and_drawn_lines_3_to_1() {
        // WCAG 2.2, 1.4.3 (AA) and 1.4.11.
        for ground in [Ground::Paper, Ground::Graphite] {
            let theme = Theme::of(ground);
            for back in [theme.paper, theme.panel, theme.wash] {
                for text in [theme.ink, theme.quiet, theme.accent] {
                    assert!(contrast(text, back) >= 4.5, "{ground:?} {text:?} on {back:?}: {}", contrast(text, back));
                }
            }
            // Text that is selected, and the outline of what cannot be read, of a field in hand and of one pointed at.
            let visuals = theme.visuals();
            for back in [theme.paper, theme.panel, theme.wash] {
                let selected = over(visuals.selection.bg_fill, back);
                assert!(contrast(theme.ink, selected) >= 4.5, "{ground:?} selected on {back:?}");
                for line in [theme.level(Level::Outside), theme.accent, theme.quiet] {
                    assert!(contrast(line, back) >= 3.0, "{ground:?} {line:?} on {back:?}: {}", contrast(line, back));
                }
            }
            // Words on a veil over the picture, whatever stands behind it.
            for behind in [Color32::BLACK, Color32::WHITE] {
                for veil in [0.8, 0.85, 0.88, 0.9, 0.92, 0.95] {
                    let back = over(theme.panel.gamma_multiply(veil), behind);
                    assert!(contrast(theme.ink, back) >= 4.5, "{ground:?} {veil}: {}", contrast(theme.ink, back));
                }
            }
            for tint in Tint::ZONES.into_iter().chain([Tint::Place]) {
                for back in [theme.paper, theme.panel] {
                    assert!(contrast(theme.reach(tint), back) >= 3.0, "{ground:?} {tint:?}");
                }
            }
            for level in [Level::Good, Level::Borderline, Level::Outside] {
                assert!(contrast(theme.on_level(), theme.level(level)) >= 4.5, "{ground:?} {level:?}");
                // A mark is outlined in ink, which must stand out from both sides.
                assert!(contrast(theme.ink, theme.level(level)).max(contrast(theme.level(level), theme.panel)) >= 3.0);
            }
        }
    }
}
