//! From text to a checked project, every fault with file, line, column, field and the way out.

use std::{
    collections::BTreeSet,
    fmt,
    fs::File,
    io::{self, Read},
    path::{Path, PathBuf},
};

use ron::{Error as RonError, extensions::Extensions};
use serde::Deserialize;
use serde_path_to_error::{Segment, Track};

use super::{
    Checked, Fault, FaultKind, Project, VERSION,
    fault::{near, on_one_line},
    locate::{DEPTH, Flaw, Form, Outline, closing, is_space},
    rail::PLACED_TWICE,
    shape_file::read_shapes,
    starter,
};

/// Bytes that a project file may have.
pub(super) const LIMIT: usize = 1 << 20;

/// Why a file could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// There is no such file.
    #[error("{}: there is no such file. Look at the spelling of its name and folder.", path.display())]
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// A folder, a pipe or a device.
    #[error("{}: is not a file. Name a project file, such as `rig.ron`.", path.display())]
    NotAFile {
        /// The path.
        path: PathBuf,
    },
    /// The file could not be read.
    #[error("{}: cannot be read: {source}. Look at who may read it.", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The file was read and is not a sound project; displayed, one fault a line.
    #[error("{}", Listed { path, faults })]
    Faults {
        /// The file.
        path: PathBuf,
        /// Every fault found, in the order of the text.
        faults: Vec<Fault>,
    },
}

/// Faults of a file, one a line.
pub(super) struct Listed<'a> {
    pub path: &'a Path,
    pub faults: &'a [Fault],
}

impl fmt::Display for Listed<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.path.display().to_string();
        for (index, fault) in self.faults.iter().enumerate() {
            let line_break = if index == 0 { "" } else { "\n" };
            write!(f, "{line_break}{}", fault.in_file(&name))?;
        }
        Ok(())
    }
}

/// A checked project from text; a byte order mark at its beginning is skipped.
///
/// # Errors
/// Every fault found, with line and column, in the order of the text. What breaks the file's form (a sign, a name,
/// a type) is told alone, because nothing behind it is sure; what is wrong with values is told all at once.
///
/// # Cost
/// Time and memory proportional to the length of the text, of which a mebibyte is taken at most.
pub fn parse(text: &str) -> Result<Checked, Vec<Fault>> {
    let text = without_mark(text);
    if text.len() > LIMIT {
        return Err(vec![too_large(text.len() as u64)]);
    }
    let outline = Outline::of(text);
    let project = read(text, &outline).map_err(|fault| vec![fault])?;
    Checked::new(project).map_err(|faults| placed(faults, &outline))
}

/// A checked project from text, with the shapes that it names by their paths from `folder`.
///
/// # Errors
/// Every fault found; a shape that cannot be read is one.
pub fn parse_beside(text: &str, folder: &Path) -> Result<Checked, Vec<Fault>> {
    let text = without_mark(text);
    let mut project = parse(text)?;
    let unread = read_shapes(&mut project, folder);
    if unread.is_empty() { Ok(project) } else { Err(placed(unread, &Outline::of(text))) }
}

/// A checked project and its text from a file, with the shapes that it names.
///
/// # Errors
/// If the file cannot be read, is too large, is not UTF-8 or holds faults, or a shape cannot be read.
pub fn load(path: &Path) -> Result<(Checked, String), LoadError> {
    let failed = |source: io::Error| match source.kind() {
        io::ErrorKind::NotFound => LoadError::Missing { path: path.to_owned() },
        _ => LoadError::Read { path: path.to_owned(), source },
    };
    let faulty = |faults| LoadError::Faults { path: path.to_owned(), faults };

    // Looked at before it is opened: opening a pipe waits for whoever writes into it.
    let metadata = path.metadata().map_err(failed)?;
    if !metadata.is_file() {
        return Err(LoadError::NotAFile { path: path.to_owned() });
    }
    if metadata.len() > LIMIT as u64 {
        return Err(faulty(vec![too_large(metadata.len())]));
    }
    // The file may have grown meanwhile, or tell no length.
    let mut bytes = Vec::new();
    File::open(path).map_err(failed)?.take(LIMIT as u64 + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() > LIMIT {
        return Err(faulty(vec![too_large(bytes.len() as u64)]));
    }
    let text =
        String::from_utf8(bytes).map_err(|error| faulty(vec![not_utf8(error.as_bytes(), error.utf8_error())]))?;
    let text = without_mark(&text).to_owned();
    let project = parse_beside(&text, path.parent().unwrap_or_else(|| Path::new(""))).map_err(faulty)?;
    Ok((project, text))
}

/// The text without the byte order mark that some editors put before it.
pub(super) fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{FEFF}').unwrap_or(text)
}

fn too_large(bytes: u64) -> Fault {
    Fault::new("", FaultKind::TooLarge { bytes, limit: LIMIT as u64 })
}

fn not_utf8(bytes: &[u8], error: std::str::Utf8Error) -> Fault {
    let byte = error.valid_up_to();
    let sound = String::from_utf8_lossy(&bytes[..byte]);
    let at = Some(Outline::of(&sound).position(sound.len()));
    Fault { at, path: String::new(), kind: FaultKind::NotUtf8 { byte } }
}

/// Faults of values with their places, in the order of the text.
fn placed(faults: Vec<Fault>, outline: &Outline) -> Vec<Fault> {
    let mut faults: Vec<_> = faults
        .into_iter()
        .map(|fault| {
            let at = outline.nearest(&fault.path).map(|node| outline.position(node.span.start));
            Fault { at, ..fault }
        })
        .collect();
    faults.sort_by_key(|fault| fault.at);
    faults
}

/// A project from text, its values unchecked; the first fault of form.
pub(super) fn read(text: &str, outline: &Outline) -> Result<Project, Fault> {
    let at = |offset: usize, path: &str, kind: FaultKind| Fault {
        at: Some(outline.position(offset)),
        path: path.to_owned(),
        kind,
    };
    if let Some(byte) = text.find('\0') {
        return Err(at(byte, "", FaultKind::ZeroByte { byte }));
    }
    if let Some(Flaw::TooDeep { at: offset }) = outline.flaw {
        return Err(at(offset, "", FaultKind::TooDeep { limit: DEPTH }));
    }
    if outline.root().is_none() && outline.flaw.is_none() {
        return Err(Fault::new("", FaultKind::Empty));
    }
    // A newer file may hold fields that only its version tells.
    if let Some(node) = outline.find("version")
        && let Ok(found) = outline.slice(node).parse::<u64>()
        && found > VERSION.into()
    {
        return Err(at(node.span.start, "version", FaultKind::Version { found, known: VERSION }));
    }

    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let mut track = Track::new();
    let result = ron::Deserializer::from_str_with_options(text, &options).map_err(|error| (error, text)).and_then(
        |mut deserializer| {
            Project::deserialize(serde_path_to_error::Deserializer::new(&mut deserializer, &mut track))
                .and_then(|project| deserializer.end().map(|()| project))
                .map_err(|code| (deserializer.span_error(code), deserializer.remainder()))
        },
    );
    match result {
        // The last of two equal keys of a table would win.
        Ok(project) => match repeated_key(outline) {
            Some((offset, path)) => Err(at(offset, &path, FaultKind::RepeatedField)),
            None => Ok(project),
        },
        Err((error, rest)) => {
            let path = path_words(&track.path());
            Err(Explain { text, outline, path, cursor: text.len() - rest.len(), start: error.span.start }
                .fault(error.code))
        }
    }
}

/// A key of `bands` that stands there twice.
fn repeated_key(outline: &Outline) -> Option<(usize, String)> {
    let mut known = BTreeSet::new();
    outline.find("bands")?.entries.iter().find_map(|entry| {
        // One key can be written in several ways.
        let key: String = ron::from_str(&outline.text[entry.key.clone()?]).ok()?;
        let path = format!("bands.{key}");
        (!known.insert(key)).then(|| (entry.start(outline), path))
    })
}

/// A path in the words of the fields: variants of a value are not part of it.
fn path_words(path: &serde_path_to_error::Path) -> String {
    let mut words = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => {
                words.push('[');
                words.push_str(&index.to_string());
                words.push(']');
            }
            Segment::Map { key } => {
                if !words.is_empty() {
                    words.push('.');
                }
                words.push_str(key);
            }
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    words
}

/// What is known where RON's reader gave up.
struct Explain<'t> {
    text: &'t str,
    outline: &'t Outline<'t>,
    /// The field that was being read.
    path: String,
    /// How far the reader got.
    cursor: usize,
    /// Where its last step began.
    start: ron::error::Position,
}

impl Explain<'_> {
    /// RON's error as a fault.
    fn fault(&self, error: RonError) -> Fault {
        let next = self.next();
        if let Some(fault) = self.flaw(next) {
            return fault;
        }
        // A text that runs over the end of its line lacks its quotation mark and has swallowed the next text's.
        if error == RonError::ExpectedComma
            && let Some(opened) = self.outline.text_over_lines(self.cursor)
        {
            return Fault { at: self.position(opened), path: String::new(), kind: FaultKind::UnclosedText };
        }
        let before = Some((self.start.line, self.start.col));
        let (at, path, kind) = match error {
            RonError::NoSuchStructField { expected, found, .. } => {
                let kind =
                    FaultKind::UnknownField { near: near(&found, expected).map(str::to_owned), allowed: expected };
                (before, self.child(&found), kind)
            }
            RonError::NoSuchEnumVariant { expected, found, .. } => {
                let near = near(&found, expected).map(str::to_owned);
                let found = on_one_line(&found, EXCERPT);
                (before, self.path.clone(), FaultKind::UnknownWord { found, near, allowed: expected })
            }
            RonError::MissingStructField { field, .. } => {
                let path = self.child(field);
                let example = example(&path).map(|value| format!("{field}: {value}"));
                let at = self.outline.nearest(&path).map(|node| self.outline.position(node.span.start));
                (at, path, FaultKind::MissingField { example })
            }
            RonError::DuplicateStructField { field, .. } => (before, self.child(field), FaultKind::RepeatedField),
            RonError::ExpectedDifferentLength { expected, found } => {
                let expected = expected.rsplit(' ').next().and_then(|number| number.parse().ok()).unwrap_or(0);
                (self.value_place(), self.path.clone(), FaultKind::WrongLength { found, expected })
            }
            RonError::ExpectedStructLikeEnd if self.surplus().is_some() => {
                let (found, expected) = self.surplus().unwrap_or_default();
                (self.value_place(), self.path.clone(), FaultKind::WrongLength { found, expected })
            }
            error => {
                if let Some(expected) = self.expected(&error) {
                    (self.value_place(), self.path.clone(), FaultKind::WrongType { found: self.found(), expected })
                } else {
                    let (problem, mend) = self.syntax(&error);
                    // The backslash itself, which has been read.
                    let backslash = self.text[..self.cursor].rfind('\\');
                    let offset = match error {
                        RonError::InvalidEscape(_) => backslash.unwrap_or(next),
                        _ => next,
                    };
                    (self.position(offset), self.path.clone(), FaultKind::Syntax { problem, mend })
                }
            }
        };
        Fault { at, path, kind }
    }

    /// The next sign behind the cursor; the end of the text where nothing but blanks and comments follows.
    fn next(&self) -> usize {
        let mut at = self.cursor;
        loop {
            let comments = &self.outline.comments;
            if let Ok(index) = comments.binary_search_by_key(&at, |comment| comment.start) {
                at = comments[index].end;
                continue;
            }
            match self.text[at..].chars().next() {
                Some(c) if is_space(c) => at += c.len_utf8(),
                _ => return at,
            }
        }
    }

    /// The flaw of brackets, quotation marks or comments that stopped the reader, if one did.
    fn flaw(&self, next: usize) -> Option<Fault> {
        let (offset, kind) = match self.outline.flaw? {
            Flaw::TooDeep { at } => (at, FaultKind::TooDeep { limit: DEPTH }),
            Flaw::Unclosed { bracket, opened } if next >= self.outline.last_word() => {
                (opened, FaultKind::Unclosed { bracket, closing: closing(bracket) })
            }
            Flaw::Mismatched { found, at, opened } if next >= at => {
                let expected = self.text[opened..].chars().next().map_or(')', closing);
                (at, FaultKind::Mismatched { found, expected, opened: self.outline.position(opened) })
            }
            Flaw::UnclosedText { opened } if next >= opened => (opened, FaultKind::UnclosedText),
            Flaw::UnclosedComment { opened } if next >= opened => (opened, FaultKind::UnclosedComment),
            _ => return None,
        };
        Some(Fault { at: self.position(offset), path: String::new(), kind })
    }

    /// The path of a field of the value that was being read; its name may have been read already.
    fn child(&self, field: &str) -> String {
        match self.path.rsplit('.').next() {
            Some("") | None => field.to_owned(),
            Some(last) if last == field => self.path.clone(),
            Some(_) => format!("{}.{field}", self.path),
        }
    }

    #[expect(clippy::unnecessary_wraps, reason = "the form of a fault's place")]
    fn position(&self, offset: usize) -> Option<(usize, usize)> {
        Some(self.outline.position(offset))
    }

    /// Where the value that was being read begins.
    fn value_place(&self) -> Option<(usize, usize)> {
        self.position(self.outline.find(&self.path).map_or(self.cursor, |node| node.span.start))
    }

    /// More values in brackets than their field takes: how many there are, how many were read.
    fn surplus(&self) -> Option<(usize, usize)> {
        let node = self.outline.find(&self.path)?;
        let read = node.entries.iter().filter(|entry| self.outline.node(entry.value).span.end <= self.cursor).count();
        (node.form == Form::Round && node.in_row() && node.entries.len() > read).then_some((node.entries.len(), read))
    }

    /// The value that was being read, as it stands there.
    fn found(&self) -> String {
        let rest = match self.outline.find(&self.path) {
            Some(node) => self.outline.slice(node),
            None => &self.text[self.cursor..],
        };
        excerpt(rest)
    }

    /// What stands at the cursor, as it stands there.
    fn here(&self) -> String {
        let next = self.next();
        let rest = &self.text[next..];
        let end = rest.find(|c: char| is_space(c) || matches!(c, ',' | ':' | ')' | ']' | '}')).unwrap_or(rest.len());
        excerpt(&rest[..end.max(rest.chars().next().map_or(0, char::len_utf8))])
    }

    /// What the field takes, where a value of another form stands.
    fn expected(&self, error: &RonError) -> Option<String> {
        let words = match error {
            RonError::ExpectedFloat | RonError::FloatUnderscore => "a number",
            RonError::ExpectedInteger
            | RonError::IntegerOutOfBounds
            | RonError::InvalidIntegerDigit { .. }
            | RonError::UnderscoreAtBeginning => "a whole number",
            RonError::ExpectedString if self.outline.find(&self.path).is_none_or(|node| node.form != Form::Curly) => {
                "a text in quotation marks"
            }
            RonError::ExpectedArray => "a list in square brackets",
            RonError::ExpectedMap => "a table in curly brackets",
            RonError::ExpectedStructLike
            | RonError::ExpectedNamedStructLike(_)
            | RonError::ExpectedDifferentStructName { .. } => "a value in round brackets",
            RonError::ExpectedIdentifier | RonError::SuggestRawIdentifier(_) => match self.outline.find(&self.path) {
                Some(node) if node.form == Form::Leaf => "a word without quotation marks",
                Some(node) if node.form == Form::Round && node.in_row() => "named fields in round brackets",
                _ => return None,
            },
            RonError::InvalidValueForType { expected, .. } => expected,
            _ => return None,
        };
        let example = if self.path.ends_with("back_angle_deg") {
            Some("FromHorizontal(50)` or `FromVertical(40)".to_owned())
        } else {
            example(&self.path)
        };
        Some(example.map_or_else(|| words.to_owned(), |example| format!("{words}, such as `{example}`")))
    }

    /// What RON says about any other breach of its grammar, in plain words: the problem and the way out.
    fn syntax(&self, error: &RonError) -> (String, String) {
        let here = self.here();
        let (problem, mend) = match error {
            RonError::ExpectedComma if is_unit(&here) => {
                (format!("{here} stands behind a number."), "Write the number alone: the field's name tells its unit.")
            }
            RonError::ExpectedComma if here.starts_with("`.") => {
                (format!("{here} stands behind a whole number."), "Write this number without a point.")
            }
            RonError::ExpectedComma => (format!("A comma is missing before {here}."), "Put a `,` between two entries."),
            RonError::ExpectedString => (
                format!("{here} stands where a key must."),
                "Write a finding's id in quotation marks: `\"knee_wheel\"`.",
            ),
            RonError::ExpectedMapColon => {
                (format!("A colon is missing before {here}."), "Write a field as `name: value`.")
            }
            RonError::SuggestRawIdentifier(found) if found.starts_with(|c: char| c.is_ascii_digit()) => {
                (format!("`{found}` stands where a field's name must."), "A decimal comma? Write a point: 12.5.")
            }
            RonError::ExpectedIdentifier | RonError::SuggestRawIdentifier(_) | RonError::InvalidIdentifier(_) => {
                (format!("{here} stands where a field's name must."), "Write a field as `name: value`.")
            }
            RonError::ExpectedStructLikeEnd | RonError::ExpectedOptionEnd => (
                format!("{here} stands where the bracket must close."),
                "Put a `)` before it, or a `,` if it belongs there.",
            ),
            RonError::ExpectedArrayEnd => (format!("{here} stands where the list must close."), "Put a `]` before it."),
            RonError::ExpectedMapEnd => (format!("{here} stands where the table must close."), "Put a `}` before it."),
            RonError::TrailingCharacters => (
                format!("{here} stands behind the end of the project."),
                "Take it out, or take out the closing bracket before it.",
            ),
            RonError::InvalidEscape(_) => (
                "A backslash in a text is followed by a letter that makes no sign.".to_owned(),
                "Write a backslash twice: `\\\\`.",
            ),
            RonError::ExpectedAttribute | RonError::ExpectedAttributeEnd | RonError::NoSuchExtension(_) => (
                "The line that begins with `#` is no switch of the file's form.".to_owned(),
                "Take it out: a project needs none. A comment begins with `//`.",
            ),
            RonError::UnexpectedChar(c) => (
                format!("{} stands where nothing such can.", excerpt(&c.to_string())),
                "A comment begins with `//`. Take it out otherwise.",
            ),
            RonError::Eof => ("The file ends too early.".to_owned(), "Is its end missing?"),
            RonError::Message(words) if words.ends_with(PLACED_TWICE) => {
                (format!("{words}."), "Keep the place, or the rail that it is attached to.")
            }
            other => (format!("The file's form is broken: {other}."), "Compare with a file from `heelpoint new`."),
        };
        (problem, mend.to_owned())
    }
}

/// True for a unit as people write it behind a number.
fn is_unit(word: &str) -> bool {
    ["mm", "cm", "m", "in", "kg", "lb", "N", "deg", "°", "\""].contains(&word.trim_matches('`'))
}

/// How a field may look, from the starter file; `None` where it has no short value for it.
fn example(path: &str) -> Option<String> {
    // Every part of a list looks like its first, and every driver like the one who sits.
    let lists = [
        ("frame[", "frame[0]"),
        ("controls[", "controls[0]"),
        ("pedals.pedals[", "pedals.pedals[0]"),
        ("others[", "driver"),
    ];
    let in_list = lists.iter().find_map(|(list, first)| Some((first, path.strip_prefix(list)?.split_once(']')?.1)));
    let path = in_list.map_or_else(|| path.to_owned(), |(first, rest)| format!("{first}{rest}"));
    let outline = Outline::of(starter());
    let value = outline.slice(outline.find(&path)?);
    (value.chars().count() <= 60 && !value.contains('\n')).then(|| value.to_owned())
}

/// The beginning of the first line of a piece of the file, between backticks.
fn excerpt(text: &str) -> String {
    let mut lines = text.lines();
    let Some(line) = lines.next() else { return "nothing".to_owned() };
    let more = if lines.next().is_some() && line.chars().count() <= EXCERPT { "…" } else { "" };
    format!("`{}{more}`", on_one_line(line, EXCERPT))
}

/// Characters of the file that are shown in a sentence.
const EXCERPT: usize = 40;
