//! From a project to text and to disk: whole or not at all, and the user's comments kept.

use std::{
    fs::{self, File, OpenOptions, Permissions},
    io::{self, Write},
    path::{Path, PathBuf},
    sync::atomic::{AtomicU32, Ordering},
};

use ron::extensions::Extensions;

use super::{
    Checked, Fault, Project,
    load::{LIMIT, Listed, read, without_mark},
    locate::{Form, Node, Outline},
    merge::merge,
};

/// Columns that a line of the program's own layout may take.
const WIDTH: usize = 120;

/// Why a project could not be saved; what stood in the file stands there still.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// The file, or the folder that it is in, cannot be written.
    #[error(
        "{}: cannot be written: {source}. Save under another name, or look at who may write there.",
        path.display()
    )]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The file was changed by something else since it was loaded.
    #[error(
        "{}: was changed on disk since it was loaded. Load it again, save under another name, or overwrite it.",
        path.display()
    )]
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// The project has faults, so that the file could not be loaded again.
    #[error("{}", Listed { path, faults })]
    Faults {
        /// The file.
        path: PathBuf,
        /// Every fault, without line and column.
        faults: Vec<Fault>,
    },
}

/// What a save did.
#[derive(Clone, Debug, PartialEq)]
pub struct Saved {
    /// The text that now stands in the file.
    pub text: String,
    /// Set where comments could not be kept in place: the former file, kept beside the new one.
    pub former: Option<PathBuf>,
}

/// A project as text, in the program's own layout; of a sound project, [`super::parse`] gives the equal one back.
///
/// # Panics
/// Never: the project's types have a text each.
pub fn to_text(project: &Project) -> String {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let compact = options.to_string(project).expect("numbers, texts, lists and named fields all have a form in RON");
    let outline = Outline::of(&compact);
    let mut text = String::new();
    if let Some(root) = outline.root() {
        Layout { outline: &outline, text: &mut text }.value(root, 0, 0);
    }
    text.push('\n');
    text
}

/// The program's own layout of a compact text.
struct Layout<'a, 't> {
    outline: &'a Outline<'t>,
    text: &'a mut String,
}

impl Layout<'_, '_> {
    /// Writes a value that begins at `column` within `depth` brackets.
    fn value(&mut self, node: &Node, depth: usize, column: usize) {
        let one_line = self.one_line(node);
        // A comma follows.
        if self.is_short(node, depth) && column + one_line.chars().count() < WIDTH {
            self.text.push_str(&one_line);
            return;
        }
        let (opening, closing) = brackets(node.form);
        self.text.push_str(self.outline.name(node));
        self.text.push_str(opening);
        self.text.push('\n');
        let mut was_long = false;
        for (index, entry) in node.entries.iter().enumerate() {
            let before = self.text.len();
            let key = self.key(entry.key.clone());
            let indent = 4 * (depth + 1);
            self.text.push_str(&" ".repeat(indent));
            self.text.push_str(&key);
            self.value(self.outline.node(entry.value), depth + 1, indent + key.chars().count());
            self.text.push_str(",\n");
            // A blank line before and behind each topic.
            let is_long = self.text[before..].lines().count() > 1;
            if depth == 0 && index > 0 && (is_long || was_long) {
                self.text.insert(before, '\n');
            }
            was_long = is_long;
        }
        self.text.push_str(&" ".repeat(4 * depth));
        self.text.push_str(closing);
    }

    /// True for what is read best on one line: numbers in a row, a few fields, a part of a list.
    fn is_short(&self, node: &Node, depth: usize) -> bool {
        let inner = |entry: &super::locate::Entry| {
            let value = self.outline.node(entry.value);
            value.entries.iter().any(|entry| entry.key.is_some())
        };
        match node.form {
            Form::Leaf => true,
            _ if node.entries.is_empty() => true,
            Form::Round if !node.name.is_empty() => true,
            Form::Round if node.in_row() => true,
            Form::Round => {
                depth > 0
                    && !node.entries.iter().any(inner)
                    && (node.entries.len() <= 3 || depth == 2 && self.is_part(node))
            }
            Form::Square | Form::Curly => false,
        }
    }

    /// True for a part with a name of its own, as in a list of rails.
    fn is_part(&self, node: &Node) -> bool {
        node.entries.first().is_some_and(|entry| self.outline.key(entry) == Some("name"))
    }

    fn one_line(&self, node: &Node) -> String {
        if node.form == Form::Leaf {
            return number(self.outline.slice(node)).to_owned();
        }
        let (opening, closing) = brackets(node.form);
        let entries: Vec<_> = node
            .entries
            .iter()
            .map(|entry| self.key(entry.key.clone()) + &self.one_line(self.outline.node(entry.value)))
            .collect();
        format!("{}{opening}{}{closing}", self.outline.name(node), entries.join(", "))
    }

    fn key(&self, key: Option<std::ops::Range<usize>>) -> String {
        key.map_or_else(String::new, |key| format!("{}: ", &self.outline.text[key]))
    }
}

const fn brackets(form: Form) -> (&'static str, &'static str) {
    match form {
        Form::Square => ("[", "]"),
        Form::Curly => ("{", "}"),
        Form::Round | Form::Leaf => ("(", ")"),
    }
}

/// A number without a needless `.0`; anything else as it is.
fn number(leaf: &str) -> &str {
    let is_number = leaf.starts_with(|c: char| c == '-' || c.is_ascii_digit());
    if is_number { leaf.strip_suffix(".0").unwrap_or(leaf) } else { leaf }
}

/// Writes a project to `path`, whole or not at all. `former` is the text it was loaded from, if any: its comments
/// and layout stay, and the file is left alone if it holds something else by now. Without `former` the file is
/// overwritten, whatever it holds. A link is followed to its target, whose permissions stay.
///
/// What stood in the file and cannot be kept in place, because comments have no place any more or because it is no
/// project, is kept beside it as `NAME.former`, numbered where there is one already.
///
/// # Errors
/// If the project has faults or the file cannot be written; what stood there stays.
pub fn save(path: &Path, project: &Project, former: Option<&str>) -> Result<Saved, SaveError> {
    Checked::new(project.clone()).map_err(|faults| SaveError::Faults { path: path.to_owned(), faults })?;
    let failed = |source| SaveError::Write { path: path.to_owned(), source };
    let target = followed(path).map_err(failed)?;
    let stood = standing(&target).map_err(failed)?;
    let on_disk = stood.as_ref().map(|(bytes, _)| std::str::from_utf8(bytes).map(without_mark).ok());
    if let (Some(former), Some(on_disk)) = (former, on_disk)
        && on_disk != Some(without_mark(former))
    {
        return Err(SaveError::Changed { path: path.to_owned() });
    }

    let merged = former.or(on_disk.flatten()).and_then(|former| merge(former, project));
    let lost = merged.is_none() && on_disk.is_some_and(|text| !text.is_some_and(is_plain_project));
    let text = merged.unwrap_or_else(|| to_text(project));

    let permissions = stood.as_ref().map(|(_, permissions)| permissions.clone());
    let temporary = Temporary::write(&target, &text, permissions).map_err(failed)?;
    let former = match &stood {
        Some((bytes, _)) if lost => Some(keep(&target, bytes).map_err(failed)?),
        _ => None,
    };
    temporary.rename(&target).map_err(failed)?;
    Ok(Saved { text, former })
}

/// True for a project without comments, of which nothing is lost when it is written anew.
fn is_plain_project(text: &str) -> bool {
    let outline = Outline::of(text);
    outline.comments.is_empty() && read(text, &outline).is_ok()
}

/// The file at the end of a chain of links, which need not be there yet.
fn followed(path: &Path) -> io::Result<PathBuf> {
    let mut path = path.to_owned();
    // As many links as Linux follows.
    for _ in 0..40 {
        match fs::read_link(&path) {
            Ok(next) => path = path.parent().unwrap_or(Path::new("")).join(next),
            Err(_) => return Ok(path),
        }
    }
    Err(io::Error::other("links lead in a circle"))
}

/// What stands at a path: its bytes and permissions; `None` where nothing does.
fn standing(target: &Path) -> io::Result<Option<(Vec<u8>, Permissions)>> {
    let metadata = match target.metadata() {
        Ok(metadata) => metadata,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    if !metadata.is_file() {
        return Err(io::Error::other("not a file"));
    }
    if metadata.len() > LIMIT as u64 {
        return Err(io::Error::other("the file there is too large for a project"));
    }
    // The rename would overwrite it all the same.
    if metadata.permissions().readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "the file is read-only"));
    }
    Ok(Some((fs::read(target)?, metadata.permissions())))
}

/// Writes what stood in a file beside it, under a name that is free.
fn keep(target: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    let name = target.file_name().unwrap_or_default().to_string_lossy().into_owned();
    for number in 1..1000 {
        let number = if number == 1 { String::new() } else { format!("-{number}") };
        let path = target.with_file_name(format!("{name}.former{number}"));
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(mut file) => {
                let written = file.write_all(bytes).and_then(|()| file.sync_all());
                return match written {
                    Ok(()) => Ok(path),
                    Err(error) => {
                        // Half a copy is none; that it cannot be removed is the smaller trouble.
                        let _ = fs::remove_file(&path);
                        Err(error)
                    }
                };
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("a thousand former files stand beside it"))
}

/// A written file that has not taken its place yet; removed if it never does.
struct Temporary(PathBuf);

impl Temporary {
    /// Writes `text` to disk in the folder of `target`.
    fn write(target: &Path, text: &str, permissions: Option<Permissions>) -> io::Result<Self> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        // The name is ours alone, among programs by the process and in this one by the count.
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = target.with_file_name(format!(".heelpoint-{}-{count}.part", std::process::id()));
        let mut file = OpenOptions::new().write(true).create_new(true).open(&path)?;
        let temporary = Self(path);
        file.write_all(text.as_bytes())?;
        if let Some(permissions) = permissions {
            file.set_permissions(permissions)?;
        }
        file.sync_all()?;
        Ok(temporary)
    }

    /// Puts the file in the place of `target`.
    fn rename(self, target: &Path) -> io::Result<()> {
        fs::rename(&self.0, target)?;
        // The name is on disk only when the folder is; some file systems cannot do that, and the file stands anyway.
        if cfg!(unix) {
            let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
            let _ = File::open(folder).and_then(|folder| folder.sync_all());
        }
        Ok(())
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // Gone already where it has taken its place.
        let _ = fs::remove_file(&self.0);
    }
}
