//! The measuring sheet: every drawing on one page of A4 with room to write, as SVG.

use std::fmt::Write;

use super::{Figure, Figures, Guide, StrokeKind, Tape};
use crate::project::Driver;

/// Page and cells, mm.
const PAGE: [f64; 2] = crate::units::A4_MM;
const MARGIN: f64 = 9.0;
const HEAD: f64 = 16.0;
const COLUMNS: usize = 3;
/// Share of a cell's width that the drawing has.
const DRAWING: f64 = 0.40;

/// The measuring sheet of a driver: an SVG page of A4, to be printed.
pub fn sheet(driver: &Driver) -> String {
    let figures = Figures::of(driver);
    let guides = Guide::all();
    let rows = guides.len().div_ceil(COLUMNS);
    let cell = [(PAGE[0] - 2.0 * MARGIN) / COLUMNS as f64, (PAGE[1] - 2.0 * MARGIN - HEAD) / rows as f64];
    let mut svg = String::new();
    let [width, height] = PAGE;
    // Writing to a string does not fail.
    let _ = writeln!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} \
         {height}\" font-family=\"IBM Plex Sans, Helvetica, Arial, sans-serif\" fill=\"#22262a\">\n<rect \
         width=\"100%\" height=\"100%\" fill=\"#fff\"/>"
    );
    text(&mut svg, [MARGIN, MARGIN + 5.0], 5.0, INK, "Measuring sheet");
    let note = "With a helper, a wall and a tape; barefoot, in thin clothes. Any subset helps; take each twice and \
                write the middle.";
    text(&mut svg, [MARGIN, MARGIN + 10.5], 2.8, QUIET, note);
    text(&mut svg, [width - MARGIN - 62.0, MARGIN + 5.0], 3.2, INK, "Name: ____________  Date: __________");
    for (index, guide) in guides.iter().enumerate() {
        let corner = [MARGIN + cell[0] * (index % COLUMNS) as f64, MARGIN + HEAD + cell[1] * (index / COLUMNS) as f64];
        place(&mut svg, &figures, guide, corner, cell);
    }
    svg.push_str("</svg>\n");
    svg
}

fn place(svg: &mut String, figures: &Figures, guide: &Guide, corner: [f64; 2], cell: [f64; 2]) {
    let [x, y] = corner;
    let _ = writeln!(
        svg,
        "<line x1=\"{x}\" y1=\"{y}\" x2=\"{:.1}\" y2=\"{y}\" stroke=\"#c8c4bb\" stroke-width=\"0.2\"/>",
        x + cell[0] - 3.0
    );
    let figure = figures.get(guide.stance);
    if let Some(tape) = figure.tape(&guide.field) {
        let room = [cell[0] * DRAWING - 3.0, cell[1] - 5.0];
        drawing(svg, figure, tape, [x, y + 2.5], room);
    }
    let (label, unit, error) = guide.label();
    let left = x + cell[0] * DRAWING;
    let mut line = y + 5.0;
    text(svg, [left, line], 3.2, INK, label);
    line += 2.8;
    text(svg, [left, line], 1.75, QUIET, &guide.standard());
    line += 5.2;
    let blank = format!("________{}  ±{}", unit.suffix(), unit.show(error).trim_end_matches(unit.suffix()));
    text(svg, [left, line], 3.2, INK, &blank);
    line += 3.6;
    for words in wrap(&guide.definition, 38) {
        text(svg, [left, line], 1.95, INK, &words);
        line += 2.5;
    }
    line += 0.7;
    for words in wrap(&guide.how, 38) {
        text(svg, [left, line], 1.95, QUIET, &words);
        line += 2.5;
    }
}

/// The drawing of one tape, fitted into a room of the page.
fn drawing(svg: &mut String, figure: &Figure, tape: &Tape, at: [f64; 2], room: [f64; 2]) {
    let [low, high] = figure.bounds;
    let scale = (room[0] / (high[0] - low[0])).min(room[1] / (high[1] - low[1]));
    let shift = [0, 1].map(|i| at[i] + 0.5 * (room[i] - scale * (high[i] - low[i])));
    let on_page = |p: &[f64; 2]| [shift[0] + scale * (p[0] - low[0]), shift[1] + scale * (high[1] - p[1])];
    let mut path = |points: &[[f64; 2]], colour: &str, width: f64| {
        let words: Vec<String> = points
            .iter()
            .map(on_page)
            .enumerate()
            .map(|(index, [x, y])| format!("{}{x:.2} {y:.2}", if index == 0 { "M" } else { "L" }))
            .collect();
        let _ = writeln!(
            svg,
            "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linejoin=\"round\" \
             stroke-linecap=\"round\"/>",
            words.join("")
        );
    };
    for stroke in figure.strokes.iter().chain(&tape.aids) {
        match stroke.kind {
            StrokeKind::Body => path(&stroke.points, INK, 0.22),
            StrokeKind::Aid => path(&stroke.points, "#8a8f94", 0.18),
        }
    }
    let Some(line) = tape.line else { return };
    for (end, beside) in tape.ends.into_iter().zip(line) {
        path(&[end, beside], TAPE, 0.12);
    }
    path(&line, TAPE, 0.35);
    let [a, b] = line.map(|end| on_page(&end));
    arrow(svg, a, b);
    arrow(svg, b, a);
}

/// Colours of ink on paper.
const INK: &str = "#22262a";
const QUIET: &str = "#5a6066";
const TAPE: &str = "#0a5f8a";

/// A filled arrowhead at `tip` of a line that comes from `from`.
fn arrow(svg: &mut String, tip: [f64; 2], from: [f64; 2]) {
    let length = (tip[0] - from[0]).hypot(tip[1] - from[1]).max(1e-6);
    let way = [(tip[0] - from[0]) / length, (tip[1] - from[1]) / length];
    let size = 1.5_f64.min(length * 0.4);
    let corner = |side: f64| {
        [tip[0] - size * way[0] - side * 0.26 * size * way[1], tip[1] - size * way[1] + side * 0.26 * size * way[0]]
    };
    let (l, r) = (corner(1.0), corner(-1.0));
    let _ = writeln!(
        svg,
        "<path d=\"M{:.2} {:.2}L{:.2} {:.2}L{:.2} {:.2}Z\" fill=\"{TAPE}\"/>",
        tip[0], tip[1], l[0], l[1], r[0], r[1]
    );
}

fn text(svg: &mut String, at: [f64; 2], size: f64, colour: &str, words: &str) {
    let words = words.replace('&', "&amp;").replace('<', "&lt;");
    let _ = writeln!(
        svg,
        "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{size}\" fill=\"{colour}\">{words}</text>",
        at[0], at[1]
    );
}

/// Lines of at most `width` letters.
fn wrap(words: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sheet_has_every_dimension_inside_the_page() {
        let driver = crate::project::parse(crate::project::starter()).unwrap().driver.clone();
        let svg = sheet(&driver);
        for guide in Guide::all() {
            assert!(svg.contains(&format!(">{}</text>", guide.label().0)), "{}", guide.field);
        }
        assert_eq!(svg.matches("</text>").count(), svg.matches("<text").count());
        let mut numbers = 0;
        for path in svg.split("<path d=\"").skip(1) {
            let path = path.split('"').next().unwrap();
            for pair in path.split(['M', 'L', 'Z']).filter(|pair| !pair.is_empty()) {
                let (x, y) = pair.split_once(' ').unwrap();
                let at: [f64; 2] = [x, y].map(|number| number.parse().unwrap());
                assert!((0.0..=PAGE[0]).contains(&at[0]) && (0.0..=PAGE[1]).contains(&at[1]), "{at:?}");
                numbers += 1;
            }
        }
        assert!(numbers > 2000, "{numbers} points: bodies were drawn");
    }
}
