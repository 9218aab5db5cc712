//! Where a field stands in the text of a project.
//!
//! [`Outline`] reads the brackets, names, separators and comments of RON text and leaves their meaning to the
//! loader. It is tolerant: text with faults still has an outline as far as its brackets go. It never recurses, so
//! that no text can overflow the stack.

use std::ops::Range;

/// Brackets inside brackets that a file may have; a project needs six.
pub(super) const DEPTH: usize = 64;

/// The bracket structure of a RON text.
#[derive(Debug)]
pub(super) struct Outline<'t> {
    /// The whole text.
    pub text: &'t str,
    nodes: Vec<Node>,
    root: Option<NodeId>,
    line_starts: Vec<usize>,
    /// Every comment, in order.
    pub comments: Vec<Range<usize>>,
    /// The first fault of the brackets, quotation marks or comments.
    pub flaw: Option<Flaw>,
}

/// A place in [`Outline`]'s list of values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct NodeId(usize);

/// One value in the text.
#[derive(Debug)]
pub(super) struct Node {
    /// From its name, bracket or first character to behind its last.
    pub span: Range<usize>,
    /// The name before a round bracket; empty where there is none.
    pub name: Range<usize>,
    /// Behind its opening bracket; behind its last character where it has none.
    pub open: usize,
    /// What kind of value.
    pub form: Form,
    /// What stands between the brackets.
    pub entries: Vec<Entry>,
}

/// The form of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// A number, a text or a word.
    Leaf,
    /// `( … )`: fields, or values in a row.
    Round,
    /// `[ … ]`: a list.
    Square,
    /// `{ … }`: a table.
    Curly,
}

impl Node {
    /// True for values in a row: none of its entries has a key.
    pub fn in_row(&self) -> bool {
        self.entries.iter().all(|entry| entry.key.is_none())
    }
}

/// One value between brackets, with its key if it has one.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    /// The field's name, or a table's key with its quotation marks.
    pub key: Option<Range<usize>>,
    /// The value.
    pub value: NodeId,
    /// Where the comma behind it stands.
    pub comma: Option<usize>,
}

impl Entry {
    /// Where the entry begins: its key or else its value.
    pub fn start(&self, outline: &Outline) -> usize {
        self.key.as_ref().map_or(outline.node(self.value).span.start, |key| key.start)
    }

    /// Where its value ends.
    pub fn end(&self, outline: &Outline) -> usize {
        outline.node(self.value).span.end
    }
}

/// What is wrong with the brackets of a text; all offsets in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flaw {
    /// A bracket deeper than [`DEPTH`].
    TooDeep { at: usize },
    /// A bracket without its closing one.
    Unclosed { bracket: char, opened: usize },
    /// A closing bracket of another shape than the opening one.
    Mismatched { found: char, at: usize, opened: usize },
    /// A closing bracket too many.
    Stray { found: char, at: usize },
    /// A text without its closing quotation mark.
    UnclosedText { opened: usize },
    /// A block comment without its end.
    UnclosedComment { opened: usize },
}

/// A bracket whose end has not been read yet.
struct Open {
    bracket: char,
    at: usize,
    name: Range<usize>,
    entries: Vec<Entry>,
    key: Option<Range<usize>>,
    value: Option<NodeId>,
}

impl Open {
    fn new(bracket: char, at: usize, name: Range<usize>) -> Self {
        Self { bracket, at, name, entries: Vec::new(), key: None, value: None }
    }
}

impl<'t> Outline<'t> {
    /// The outline of `text`, in time proportional to its length.
    pub fn of(text: &'t str) -> Self {
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let mut outline = Self { text, nodes: Vec::new(), root: None, line_starts, comments: Vec::new(), flaw: None };
        outline.read();
        outline
    }

    fn read(&mut self) {
        let text = self.text;
        // The file as a whole is the outermost pair of brackets; attributes are values before the project.
        let mut stack = vec![Open::new(' ', 0, 0..0)];
        let mut at = 0;
        while let Some(c) = text[at..].chars().next() {
            let start = at;
            at += c.len_utf8();
            match c {
                _ if is_space(c) => {}
                '/' if text[at..].starts_with('/') => {
                    at = text[at..].find('\n').map_or(text.len(), |length| at + length);
                    self.comments.push(start..at);
                }
                '/' if text[at..].starts_with('*') => {
                    let Some(end) = comment_end(text, start) else {
                        self.note(Flaw::UnclosedComment { opened: start });
                        break;
                    };
                    at = end;
                    self.comments.push(start..end);
                }
                '(' | '[' | '{' => {
                    if stack.len() > DEPTH {
                        self.note(Flaw::TooDeep { at: start });
                        break;
                    }
                    let parent = innermost(&mut stack);
                    let name = match parent.value {
                        Some(id) if c == '(' && self.is_word(id) => {
                            parent.value = None;
                            self.nodes[id.0].span.clone()
                        }
                        _ => start..start,
                    };
                    stack.push(Open::new(c, start, name));
                }
                ')' | ']' | '}' => {
                    if stack.len() == 1 {
                        self.note(Flaw::Stray { found: c, at: start });
                        continue;
                    }
                    if let Some(open) = stack.pop() {
                        if closing(open.bracket) != c {
                            self.note(Flaw::Mismatched { found: c, at: start, opened: open.at });
                        }
                        let node = self.close(open, at);
                        self.put(innermost(&mut stack), node);
                    }
                }
                ',' => self.finish(innermost(&mut stack), Some(start)),
                ':' => {
                    let open = innermost(&mut stack);
                    if let Some(id) = open.value.take() {
                        open.key = Some(self.nodes[id.0].span.clone());
                    }
                }
                _ => {
                    let Some(end) = atom_end(text, start) else {
                        self.note(Flaw::UnclosedText { opened: start });
                        break;
                    };
                    at = end;
                    let node = self.leaf(start..end);
                    self.put(innermost(&mut stack), node);
                }
            }
        }

        // Text that breaks off is closed where it ends.
        while let Some(open) = stack.pop() {
            if stack.is_empty() {
                let mut file = open;
                self.finish(&mut file, None);
                self.root = file.entries.last().map(|entry| entry.value);
            } else {
                self.note(Flaw::Unclosed { bracket: open.bracket, opened: open.at });
                let node = self.close(open, text.len());
                self.put(innermost(&mut stack), node);
            }
        }
    }

    /// Keeps the first flaw: those behind it follow from it.
    fn note(&mut self, flaw: Flaw) {
        self.flaw.get_or_insert(flaw);
    }

    fn leaf(&mut self, span: Range<usize>) -> NodeId {
        let (name, open) = (span.start..span.start, span.end);
        self.add(Node { span, name, open, form: Form::Leaf, entries: Vec::new() })
    }

    fn add(&mut self, node: Node) -> NodeId {
        self.nodes.push(node);
        NodeId(self.nodes.len() - 1)
    }

    /// A value was read in `open`.
    fn put(&mut self, open: &mut Open, value: NodeId) {
        // Two values without a comma between them.
        if open.value.is_some() {
            self.finish(open, None);
        }
        open.value = Some(value);
    }

    /// The entry under way in `open` ends.
    fn finish(&mut self, open: &mut Open, comma: Option<usize>) {
        let key = open.key.take();
        let value = match (open.value.take(), &key) {
            (Some(value), _) => value,
            (None, Some(key)) => {
                let end = key.end;
                self.leaf(end..end)
            }
            (None, None) => return,
        };
        open.entries.push(Entry { key, value, comma });
    }

    fn close(&mut self, mut open: Open, end: usize) -> NodeId {
        self.finish(&mut open, None);
        let form = match open.bracket {
            '[' => Form::Square,
            '{' => Form::Curly,
            _ => Form::Round,
        };
        let start = if open.name.is_empty() { open.at } else { open.name.start };
        self.add(Node { span: start..end, name: open.name, open: open.at + 1, form, entries: open.entries })
    }

    /// True for a leaf that can be the name of the bracket behind it.
    fn is_word(&self, id: NodeId) -> bool {
        let node = &self.nodes[id.0];
        node.form == Form::Leaf && self.slice(node).starts_with(|c: char| c == '_' || c.is_alphabetic())
    }

    /// The outermost value: the project; `None` for text without any.
    pub fn root(&self) -> Option<&Node> {
        self.root.map(|id| self.node(id))
    }

    /// A value.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.0]
    }

    /// The text of a value.
    pub fn slice(&self, node: &Node) -> &'t str {
        &self.text[node.span.clone()]
    }

    /// The name before the brackets of a value; empty where there is none.
    pub fn name(&self, node: &Node) -> &'t str {
        &self.text[node.name.clone()]
    }

    /// The key of an entry, without quotation marks.
    pub fn key(&self, entry: &Entry) -> Option<&'t str> {
        entry.key.clone().map(|key| self.text[key].trim_matches('"'))
    }

    /// Where the word begins that the text breaks off in; the end of the text where it ends between words.
    pub fn last_word(&self) -> usize {
        let leaf = self.nodes.iter().rfind(|node| node.form == Form::Leaf);
        leaf.filter(|leaf| leaf.span.end == self.text.len()).map_or(self.text.len(), |leaf| leaf.span.start)
    }

    /// Where the last text before `offset` begins, if it runs over the end of a line.
    pub fn text_over_lines(&self, offset: usize) -> Option<usize> {
        let leaf = self.nodes.iter().rfind(|node| node.form == Form::Leaf && node.span.end <= offset)?;
        let text = self.slice(leaf);
        (text.starts_with('"') && text.contains('\n')).then_some(leaf.span.start)
    }

    /// The value inside `Some(…)` and other names with a single value; any other value itself.
    pub fn inside<'n>(&'n self, mut node: &'n Node) -> &'n Node {
        while let (false, [only]) = (node.name.is_empty(), node.entries.as_slice()) {
            if only.key.is_some() {
                break;
            }
            node = self.node(only.value);
        }
        node
    }

    /// The value at a path such as `pedals.pedals[0].face_mm[1]`.
    pub fn find(&self, path: &str) -> Option<&Node> {
        let (node, rest) = self.follow(path)?;
        rest.is_empty().then_some(node)
    }

    /// The value at a path, or the innermost one on the way to it that is there.
    pub fn nearest(&self, path: &str) -> Option<&Node> {
        self.follow(path).map(|(node, _)| node)
    }

    /// Follows a path as far as the text does; what is left of it.
    fn follow<'p>(&self, path: &'p str) -> Option<(&Node, &'p str)> {
        let mut node = self.root()?;
        let mut rest = path;
        while !rest.is_empty() {
            let inside = self.inside(node);
            let step = if let Some((index, behind)) = rest.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
                index.parse().ok().and_then(|index: usize| inside.entries.get(index)).map(|entry| (entry, behind))
            } else {
                inside.entries.iter().find_map(|entry| {
                    let behind = rest.strip_prefix(self.key(entry)?)?;
                    (behind.is_empty() || behind.starts_with(['.', '['])).then_some((entry, behind))
                })
            };
            let Some((entry, behind)) = step else { break };
            node = self.node(entry.value);
            rest = behind.strip_prefix('.').unwrap_or(behind);
        }
        Some((node, rest))
    }

    /// Line and column, from 1 and in characters, of a byte offset.
    pub fn position(&self, offset: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|&start| start <= offset);
        let start = self.line_starts[line - 1];
        (line, 1 + self.text[start..offset].chars().count())
    }
}

/// What lies innermost; the file itself is never popped while text is read.
fn innermost(stack: &mut [Open]) -> &mut Open {
    stack.last_mut().expect("the bracket that stands for the file is popped last")
}

/// The bracket that closes `opening`.
pub(super) const fn closing(opening: char) -> char {
    match opening {
        '[' => ']',
        '{' => '}',
        _ => ')',
    }
}

/// RON's white space.
pub(super) const fn is_space(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t' | '\n' | '\r' | '\x0B' | '\x0C' | '\u{85}' | '\u{200E}' | '\u{200F}' | '\u{2028}' | '\u{2029}'
    )
}

/// Behind a block comment that begins at `start`, which may hold further ones; `None` where it has no end.
fn comment_end(text: &str, start: usize) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut depth = 0_usize;
    let mut at = start;
    loop {
        match bytes.get(at..at + 2)? {
            b"/*" => {
                depth += 1;
                at += 2;
            }
            b"*/" => {
                depth -= 1;
                at += 2;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => at += 1,
        }
    }
}

/// Behind a number, text, character or word that begins at `start`; `None` for a text without its end.
fn atom_end(text: &str, start: usize) -> Option<usize> {
    let rest = &text[start..];
    if let Some(quoted) = rest.strip_prefix('"').or_else(|| rest.strip_prefix("b\"")) {
        let begin = text.len() - quoted.len();
        let mut escaped = false;
        let length = quoted.bytes().position(|byte| {
            let end = byte == b'"' && !escaped;
            escaped = byte == b'\\' && !escaped;
            end
        })?;
        return Some(begin + length + 1);
    }
    if let Some(raw) = rest.strip_prefix("br").or_else(|| rest.strip_prefix('r')) {
        let hashes = raw.len() - raw.trim_start_matches('#').len();
        if let Some(body) = raw[hashes..].strip_prefix('"') {
            let end = format!("\"{}", &raw[..hashes]);
            let begin = text.len() - body.len();
            return body.find(&end).map(|length| begin + length + end.len());
        }
    }
    if let Some(quoted) = rest.strip_prefix('\'') {
        // A character; anything else behind a single quotation mark is no RON, and the mark stands alone.
        let mut characters = quoted.char_indices();
        let end = match characters.next() {
            Some((_, '\\')) => {
                quoted[1..].char_indices().skip(1).take(10).find(|&(_, c)| c == '\'').map(|(at, _)| at + 1)
            }
            Some(_) => characters.next().filter(|&(_, c)| c == '\'').map(|(at, _)| at),
            None => None,
        };
        return Some(start + 1 + end.map_or(0, |at| at + 1));
    }
    let first = rest.chars().next().map_or(0, char::len_utf8);
    let length = rest[first..]
        .find(|c: char| is_space(c) || matches!(c, '(' | ')' | '[' | ']' | '{' | '}' | ',' | ':' | '"' | '\'' | '/'))
        .unwrap_or(rest.len() - first);
    Some(start + first + length)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text at a path.
    fn at<'t>(text: &'t str, path: &str) -> Option<&'t str> {
        let outline = Outline::of(text);
        outline.find(path).map(|node| outline.slice(node))
    }

    #[test]
    fn paths_lead_through_every_form_of_value() {
        let text = r###"
            #![enable(implicit_some)]
            // A comment with ( and " in it.
            Project(
                seat: (
                    cushion: (length_mm: 480.5 /* in /* fact */ ) */, width_mm: 1_0),
                    back_angle_deg: FromHorizontal( 50 ),
                ),
                wheel: (rim: Round(diameter_mm: 320), hands_h: (9, 3)),
                pedals: (pedals: [(face_mm: (150, -2.5e1)), (face_mm: (1, 2),),],),
                driver: (name: "a \"b) \\", measured: (stature_mm: Some((value: 1755, error: 8)))),
                title: r##"raw "# ( "##,
                letter: '(', quote: '\'', other: '\u{1F600}',
                bands: { "knee_wheel": (good: (40, 400)), "a.b": (good: (1, 2)) },
            )
        "###;
        for (path, value) in [
            ("seat.cushion.length_mm", "480.5"),
            ("seat.cushion.width_mm", "1_0"),
            ("seat.back_angle_deg", "FromHorizontal( 50 )"),
            ("wheel.rim.diameter_mm", "320"),
            ("wheel.hands_h[1]", "3"),
            ("pedals.pedals[0].face_mm[1]", "-2.5e1"),
            ("pedals.pedals[1].face_mm", "(1, 2)"),
            ("driver.name", r#""a \"b) \\""#),
            ("driver.measured.stature_mm.value", "1755"),
            ("title", r###"r##"raw "# ( "##"###),
            ("letter", "'('"),
            ("quote", r"'\''"),
            ("other", r"'\u{1F600}'"),
            ("bands.knee_wheel.good[0]", "40"),
            ("bands.a.b.good[1]", "2"),
        ] {
            assert_eq!(at(text, path), Some(value), "{path}");
        }
        for path in ["seat.cushion.length", "pedals.pedals[2]", "seat.cushion.length_mm.value", "bands.knee"] {
            assert_eq!(at(text, path), None, "{path}");
        }
        let outline = Outline::of(text);
        assert_eq!(outline.flaw, None);
        let nearest = outline.nearest("seat.cushion.foam_mm").unwrap();
        assert!(outline.slice(nearest).starts_with("(length_mm: 480.5"));
        assert_eq!(outline.comments.len(), 2);
    }

    #[test]
    fn positions_count_characters_from_one() {
        let outline = Outline::of("(\n  é: \"ö\", x: 1,\n)");
        // "  é: "ö", x: 1": é is the third character, the text the sixth, 1 the fourteenth.
        assert_eq!(outline.position(0), (1, 1));
        assert_eq!(outline.position(outline.find("é").unwrap().span.start), (2, 6));
        assert_eq!(outline.position(outline.find("x").unwrap().span.start), (2, 14));
        assert_eq!(outline.position(outline.text.len()), (3, 2));
    }

    #[test]
    fn flaws_say_where_they_began() {
        for (text, flaw) in [
            ("(a: [1, 2)", Flaw::Mismatched { found: ')', at: 9, opened: 4 }),
            ("(a: (b: 1)", Flaw::Unclosed { bracket: '(', opened: 0 }),
            ("(a: 1))", Flaw::Stray { found: ')', at: 6 }),
            ("(a: \"b)", Flaw::UnclosedText { opened: 4 }),
            ("(a: /* b /* c */ 1)", Flaw::UnclosedComment { opened: 4 }),
        ] {
            assert_eq!(Outline::of(text).flaw, Some(flaw), "{text}");
        }
        let deep = "(".repeat(100_000);
        assert_eq!(Outline::of(&deep).flaw, Some(Flaw::TooDeep { at: 64 }));
        assert_eq!(Outline::of(&format!("{}{}", "(".repeat(64), ")".repeat(64))).flaw, None);
    }

    #[test]
    fn faulty_text_still_has_an_outline() {
        // A comma and a value are missing.
        assert_eq!(at("(a: 1 b: 2, c: , d: 4)", "b"), Some("2"));
        assert_eq!(at("(a: 1 b: 2, c: , d: 4)", "c"), Some(""));
        assert_eq!(at("(a: 1 b: 2, c: , d: 4)", "d"), Some("4"));
        assert_eq!(at("(a: (b: 12", "a.b"), Some("12"));
        assert!(Outline::of("// nothing\n").root().is_none());
    }
}
