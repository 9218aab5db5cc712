//! A changed project written into the text it was loaded from, whose comments and layout stay.

use std::{collections::BTreeMap, ops::Range};

use super::{
    Project,
    load::{read, without_mark},
    locate::{Entry, Form, Node, Outline, is_space},
    to_text,
};

/// `project` written into `former` text, whose comments and layout stay: changed values are replaced, new fields and
/// parts put in, parts that are gone taken out. `None` where `former` is no project, or where a comment would be
/// lost; of what is returned, the loader makes exactly `project`.
pub fn merge(former: &str, project: &Project) -> Option<String> {
    let former = without_mark(former);
    let outline = Outline::of(former);
    // Both projects in one layout: values are equal where their texts are.
    let old_text = to_text(&read(former, &outline).ok()?);
    let new_text = to_text(project);
    let (old, new) = (Outline::of(&old_text), Outline::of(&new_text));
    let mut merge = Merge { former: &outline, old: &old, new: &new, edits: Vec::new() };
    merge.value(outline.root()?, old.root()?, new.root()?);
    let text = merge.apply()?;

    let merged = Outline::of(&text);
    let kept = outline.comments.len() == merged.comments.len()
        && outline
            .comments
            .iter()
            .zip(&merged.comments)
            .all(|(before, after)| former[before.clone()] == text[after.clone()]);
    let same = read(&text, &merged).is_ok_and(|read| read == *project);
    (kept && same).then_some(text)
}

/// A merge under way.
struct Merge<'a> {
    /// The text that is edited.
    former: &'a Outline<'a>,
    /// The project of that text, in the program's layout.
    old: &'a Outline<'a>,
    /// The changed project, in the program's layout.
    new: &'a Outline<'a>,
    edits: Vec<(Range<usize>, String)>,
}

impl Merge<'_> {
    /// Makes the value at `former`, which is `old`, that at `new`.
    fn value(&mut self, former: &Node, old: &Node, new: &Node) {
        if self.old.slice(old) == self.new.slice(new) {
            return;
        }
        // An option may be written out.
        if let ("Some", [only]) = (self.former.name(former), former.entries.as_slice()) {
            return self.value(self.former.node(only.value), old, new);
        }
        let alike = old.form == new.form && old.form == former.form && self.old.name(old) == self.new.name(new);
        let same_count = old.entries.len() == new.entries.len() && old.entries.len() == former.entries.len();
        match new.form {
            Form::Square if alike && former.entries.len() == old.entries.len() => self.list(former, old, new),
            Form::Round if alike && new.in_row() && former.in_row() && same_count => {
                for index in 0..new.entries.len() {
                    self.entry(&former.entries[index], &old.entries[index], &new.entries[index]);
                }
            }
            Form::Round | Form::Curly if alike && !(old.in_row() && new.in_row()) => {
                self.fields(former, old, new);
            }
            _ => self.edits.push((former.span.clone(), self.new.slice(new).to_owned())),
        }
    }

    fn entry(&mut self, former: &Entry, old: &Entry, new: &Entry) {
        self.value(self.former.node(former.value), self.old.node(old.value), self.new.node(new.value));
    }

    /// Fields by their names, or a table's entries by their keys.
    fn fields(&mut self, former: &Node, old: &Node, new: &Node) {
        let place = |outline: &Outline, node: &Node, key: Option<&str>| {
            node.entries.iter().position(|entry| outline.key(entry) == key)
        };
        // What is put in, by the entry of the former text that it follows.
        let mut added: BTreeMap<Option<usize>, Vec<String>> = BTreeMap::new();
        let mut before = None;
        for entry in &new.entries {
            let key = self.new.key(entry);
            let old_entry = place(self.old, old, key).map(|index| &old.entries[index]);
            match (place(self.former, former, key), old_entry) {
                (Some(index), Some(old_entry)) => self.entry(&former.entries[index], old_entry, entry),
                (Some(index), None) => {
                    // The former text says `None`.
                    let span = self.former.node(former.entries[index].value).span.clone();
                    self.edits.push((span, self.new.slice(self.new.node(entry.value)).to_owned()));
                }
                (None, Some(old_entry))
                    if self.old.slice(self.old.node(old_entry.value)) == self.new.slice(self.new.node(entry.value)) =>
                {
                    // The former text leaves a default out.
                }
                (None, _) => added.entry(before).or_default().push(self.text_of(entry)),
            }
            before = place(self.former, former, key).or(before);
        }
        for entry in &old.entries {
            let key = self.old.key(entry);
            if let (Some(index), None) = (place(self.former, former, key), place(self.new, new, key)) {
                if former.form == Form::Curly {
                    self.remove(&former.entries[index]);
                } else {
                    let value = self.old.node(entry.value);
                    let nothing = match value.form {
                        Form::Curly => "{}",
                        Form::Square => "[]",
                        _ if self.old.slice(value) == "true" => "false",
                        _ => "None",
                    };
                    let span = self.former.node(former.entries[index].value).span.clone();
                    self.edits.push((span, nothing.to_owned()));
                }
            }
        }
        for (after, texts) in added {
            self.insert(former, after, &texts);
        }
    }

    /// Parts in a list: what is equal at its beginning and its end stays, what is between is made equal in order.
    fn list(&mut self, former: &Node, old: &Node, new: &Node) {
        let equal = |old_entry: &Entry, new_entry: &Entry| {
            self.old.slice(self.old.node(old_entry.value)) == self.new.slice(self.new.node(new_entry.value))
        };
        let shorter = old.entries.len().min(new.entries.len());
        let head = (0..shorter).take_while(|&at| equal(&old.entries[at], &new.entries[at])).count();
        let from_end =
            |at: usize| equal(&old.entries[old.entries.len() - 1 - at], &new.entries[new.entries.len() - 1 - at]);
        let mut tail = (0..shorter - head).take_while(|&at| from_end(at)).count();
        // A part that explains itself is not the one that goes: its values become those of the part behind it.
        let gone = head..old.entries.len() - tail;
        if new.entries.len() == head + tail && former.entries[gone].iter().any(|entry| self.has_comment(entry)) {
            tail = 0;
        }
        let (old_end, new_end) = (old.entries.len() - tail, new.entries.len() - tail);
        let both = old_end.min(new_end);
        for index in head..both {
            self.entry(&former.entries[index], &old.entries[index], &new.entries[index]);
        }
        for index in both..old_end {
            self.remove(&former.entries[index]);
        }
        if both < new_end {
            let texts: Vec<_> = new.entries[both..new_end].iter().map(|entry| self.text_of(entry)).collect();
            self.insert(former, both.checked_sub(1), &texts);
        }
    }

    /// True for an entry of the former text that has a comment within it.
    fn has_comment(&self, entry: &Entry) -> bool {
        let comments = &self.former.comments;
        let first = comments.partition_point(|comment| comment.start < entry.start(self.former));
        comments.get(first).is_some_and(|comment| comment.end <= entry.end(self.former))
    }

    /// An entry of the new text, with its key.
    fn text_of(&self, entry: &Entry) -> String {
        self.new.text[entry.start(self.new)..entry.end(self.new)].to_owned()
    }

    /// Puts entries behind entry number `after` of a value, or at its beginning.
    fn insert(&mut self, node: &Node, after: Option<usize>, texts: &[String]) {
        let Some(beside) = node.entries.get(after.unwrap_or(0)) else {
            self.edits.push((node.open..node.open, texts.join(", ")));
            return;
        };
        let line = self.indent(beside);
        match (after, line) {
            (None, Some(indent)) => {
                let lines = lines(texts, indent);
                self.edits.push((node.open..node.open, lines));
            }
            (None, None) => {
                let start = beside.start(self.former);
                self.edits.push((start..start, texts.join(", ") + ", "));
            }
            (Some(_), Some(indent)) => {
                // Behind a comment that ends the line: it belongs to the entry before.
                let end = beside.comma.map_or(beside.end(self.former), |comma| comma + 1);
                let line_end = self.line_end(end);
                let mut lines = lines(texts, indent);
                if beside.comma.is_none() {
                    self.edits.push((end..end, ",".to_owned()));
                    lines.pop();
                }
                self.edits.push((line_end..line_end, lines));
            }
            (Some(_), None) => {
                let at = beside.end(self.former);
                self.edits.push((at..at, format!(", {}", texts.join(", "))));
            }
        }
    }

    /// Takes an entry out, with its line where it had one for itself.
    fn remove(&mut self, entry: &Entry) {
        let text = self.former.text;
        let start = entry.start(self.former);
        let end = entry.comma.map_or(entry.end(self.former), |comma| comma + 1);
        let rest = &text[end..];
        let blank = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let line_break = rest[blank..].strip_prefix("\r\n").or_else(|| rest[blank..].strip_prefix('\n'));
        let span = match (self.indent(entry), line_break) {
            (Some(indent), Some(next)) => start - indent.len()..text.len() - next.len(),
            _ => start..end + blank,
        };
        self.edits.push((span, String::new()));
    }

    /// The blanks before an entry that begins its line.
    fn indent(&self, entry: &Entry) -> Option<&str> {
        let before = &self.former.text[..entry.start(self.former)];
        let line = &before[before.rfind('\n')? + 1..];
        line.chars().all(is_space).then_some(line)
    }

    /// The end of the line behind `at`, past comments; `at` itself where something else follows on the line.
    fn line_end(&self, at: usize) -> usize {
        let text = self.former.text;
        let mut end = at;
        loop {
            if let Ok(index) = self.former.comments.binary_search_by_key(&end, |comment| comment.start) {
                let comment = &text[self.former.comments[index].clone()];
                end += comment.trim_end_matches('\r').len();
                continue;
            }
            match text[end..].chars().next() {
                Some('\n') | None => return end,
                Some('\r') if text[end..].starts_with("\r\n") => return end,
                Some(c) if is_space(c) => end += c.len_utf8(),
                Some(_) => return at,
            }
        }
    }

    /// The former text with its edits; `None` where two of them meet.
    fn apply(mut self) -> Option<String> {
        let former = self.former.text;
        let line_break = if former.contains("\r\n") { "\r\n" } else { "\n" };
        self.edits.sort_by_key(|(span, _)| span.start);
        let mut text = String::with_capacity(former.len());
        let mut done = 0;
        for (span, edit) in &self.edits {
            text.push_str(former.get(done..span.start)?);
            text.push_str(&edit.replace('\n', line_break));
            done = span.end;
        }
        text.push_str(former.get(done..)?);
        Some(text)
    }
}

/// Entries on a line each.
fn lines(texts: &[String], indent: &str) -> String {
    texts.iter().fold(String::new(), |lines, text| lines + "\n" + indent + text + ",")
}
