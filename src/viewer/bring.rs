//! Parts from files: shapes are read on a thread of their own, templates put in.

use std::{
    collections::HashMap,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use bevy::{prelude::*, window::RequestRedraw};

use super::{
    edit::{Document, Edit},
    files::{Chosen, Files, Purpose},
    panels::Desk,
    scene::Shown,
    solve::{Solver, Wake, Worker},
};
use crate::{
    compare,
    findings::Group,
    frame::Lists,
    geometry::TriangleMesh,
    project::{Axis, Checked, LengthUnit, Loaded, Project, Shape, StandsFor, Template, read_shape},
};

/// A file and how it is read.
type Way = (PathBuf, LengthUnit, Axis, Axis);
type Reading = Result<Arc<TriangleMesh>, String>;

/// Shapes that were read or are being read.
#[derive(Resource)]
pub struct Shapes {
    worker: Worker<Way, Reading>,
    known: HashMap<Way, Reading>,
    /// What is being read; one at a time.
    reading: Option<Way>,
    number: u64,
}

/// How it stands with a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State<'a> {
    /// It was read.
    Read,
    /// It is being read, or waits for its turn.
    Reading,
    /// Why it could not be read.
    Failed(&'a str),
}

impl Shapes {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        let read = |(path, unit, forward, up): Way| {
            if forward.is_along(up) {
                return Err("forward and up lie on one line".to_owned());
            }
            let mesh = read_shape(&path, unit, forward, up).map_err(|error| error.to_string())?;
            // What is drawn of it is made here, not while the window waits.
            mesh.light();
            Ok(Arc::new(mesh))
        };
        let worker = Worker::new("shapes", wake.clone(), read)?;
        Ok(Self { worker, known: HashMap::new(), reading: None, number: 0 })
    }

    /// How it stands with a shape of a project whose file lies in `folder`.
    pub fn state(&self, shape: &Shape, folder: &Path) -> State<'_> {
        match self.known.get(&way(shape, folder)) {
            _ if shape.mesh.0.is_some() => State::Read,
            Some(Err(why)) => State::Failed(why),
            _ => State::Reading,
        }
    }
}

fn way(shape: &Shape, folder: &Path) -> Way {
    (folder.join(&shape.file), shape.unit, shape.forward, shape.up)
}

/// The folder of a document's file.
pub fn folder(document: &Document) -> &Path {
    document.path.as_deref().and_then(Path::parent).unwrap_or_else(|| Path::new(""))
}

/// Takes the files that were chosen, and gives shapes their triangles.
pub fn bring(
    mut shapes: ResMut<Shapes>,
    mut document: ResMut<Document>,
    mut solver: ResMut<Solver>,
    mut files: ResMut<Files>,
    mut chosen: MessageReader<Chosen>,
    mut edits: MessageWriter<Edit>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    for Chosen { purpose, path } in chosen.read() {
        let mut project = document.draft().clone();
        match *purpose {
            Purpose::Shape(place) => {
                let stands_for = StandsFor::ALL.get(place).copied().unwrap_or(StandsFor::Other);
                let shape = shape_of(&project, path, folder(&document), stands_for);
                project.shapes.push(shape);
            }
            Purpose::Template => match Template::find(&path.to_string_lossy()) {
                Ok(template) => template.put_into(&mut project),
                Err(error) => {
                    files.note("This part cannot be taken", vec![error.to_string()]);
                    continue;
                }
            },
            _ => continue,
        }
        edits.write(Edit::Draft { project: Box::new(project), stroke: None });
        redraw.write(RequestRedraw);
    }

    while let Some((_, read)) = shapes.worker.answer(Duration::ZERO) {
        if let Some(way) = shapes.reading.take() {
            let read = read.unwrap_or_else(|| Err("it could not be read".to_owned()));
            shapes.known.insert(way, read);
        }
        redraw.write(RequestRedraw);
    }
    let unread = |document: &Document| {
        let lists = [&document.draft().shapes, &document.good().shapes];
        lists.into_iter().flatten().any(|shape| shape.mesh.0.is_none())
    };
    if !unread(&document) {
        return;
    }
    let home = folder(&document).to_owned();
    let known = &shapes.known;
    let mesh = |shape: &Shape| known.get(&way(shape, &home)).and_then(|read| read.as_ref().ok()).cloned();
    // Without a mark of change unless there is one: the title of the window follows the document.
    if document.bypass_change_detection().fill_shapes(&mesh)
        && let Ok(checked) = Checked::new(document.good().clone())
    {
        solver.want(checked);
        redraw.write(RequestRedraw);
    }
    if shapes.reading.is_none() {
        let wanted = document.draft().shapes.iter().chain(&document.good().shapes);
        let mut unread = wanted.filter(|shape| shape.mesh.0.is_none()).map(|shape| way(shape, &home));
        if let Some(next) = unread.find(|way| !shapes.known.contains_key(way)) {
            shapes.number += 1;
            shapes.worker.ask(shapes.number, next.clone());
            shapes.reading = Some(next);
        }
    }
}

/// Writes the lists of the frame into a folder that was chosen.
pub fn write_lists(
    mut chosen: MessageReader<Chosen>,
    document: Res<Document>,
    shown: Res<Shown>,
    desk: Res<Desk>,
    mut files: ResMut<Files>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    for Chosen { path, .. } in chosen.read().filter(|chosen| chosen.purpose == Purpose::Lists) {
        let Ok(checked) = Checked::new(document.good().clone()) else { continue };
        let lists = Lists::of_project(&checked, desk.rails.shopping.stock);
        let findings = shown.study.as_ref().map_or_else(Vec::new, |study| compare::with_frame(study));
        let of_frame: Vec<_> = findings.into_iter().filter(|finding| finding.group == Group::Frame).collect();
        match lists.write_csv(path, &of_frame) {
            Ok(()) => {
                let names = ["cut_list.csv", "bars.csv", "parts.csv", "frame_findings.csv"];
                files.note("Written", names.map(|name| path.join(name).display().to_string()).to_vec());
            }
            Err(error) => files.note("The lists cannot be written", vec![format!("{}: {error}", path.display())]),
        }
        redraw.write(RequestRedraw);
    }
}

/// A shape to begin with: named after its file, read as its kind of file usually is.
fn shape_of(project: &Project, path: &Path, folder: &Path, stands_for: StandsFor) -> Shape {
    let stem = path.file_stem().map_or_else(|| "Part".to_owned(), |stem| stem.to_string_lossy().into_owned());
    let taken = |name: &str| project.shapes.iter().any(|shape| shape.name == name);
    let mut names = std::iter::once(stem.clone()).chain((2..).map(|number| format!("{stem} {number}")));
    let name = names.find(|name| !taken(name)).unwrap_or(stem);
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    // glTF 2.0, section 3.4: metres, up along +y, the front of an asset along +z.
    let (unit, forward, up) = match ending.as_str() {
        "gltf" | "glb" => (LengthUnit::M, Axis::PlusZ, Axis::PlusY),
        _ => (LengthUnit::Mm, Axis::PlusX, Axis::PlusZ),
    };
    Shape {
        name,
        file: written(folder, path),
        unit,
        forward,
        up,
        stands_for,
        at_mm: [0.0; 3],
        turn_deg: [0.0; 3],
        mesh: Loaded::default(),
    }
}

/// A path as it is written in a project whose file lies in `folder`: from there where it lies within.
fn written(folder: &Path, path: &Path) -> String {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (home, there) = (whole(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }), whole(path));
    let within = there.strip_prefix(&home).map(Path::to_owned);
    within.unwrap_or(there).to_string_lossy().replace('\\', "/")
}

/// A project whose shapes are still found when its file goes from one folder to another; `None` where they are anyway.
pub fn moved(project: &Project, from: &Path, to: &Path) -> Option<Project> {
    let mut moved = project.clone();
    for shape in &mut moved.shapes {
        let here = from.join(&shape.file);
        if here.is_file() && !to.join(&shape.file).is_file() {
            shape.file = written(to, &here);
        }
    }
    (moved != *project).then_some(moved)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{parse, starter};

    #[test]
    fn a_brought_part_is_named_after_its_file_and_its_path_begins_at_the_project() {
        let mut project = parse(starter()).unwrap().into_inner();
        let folder = Path::new("/rigs/mine");
        let shape = shape_of(&project, Path::new("/rigs/mine/shells/bucket.stl"), folder, StandsFor::Seat);
        assert_eq!((shape.name.as_str(), shape.file.as_str()), ("bucket", "shells/bucket.stl"));
        assert_eq!((shape.unit, shape.up), (LengthUnit::Mm, Axis::PlusZ));
        project.shapes.push(shape);
        let shape = shape_of(&project, Path::new("/elsewhere/bucket.GLB"), folder, StandsFor::Seat);
        assert_eq!((shape.name.as_str(), shape.file.as_str()), ("bucket 2", "/elsewhere/bucket.GLB"));
        assert_eq!((shape.unit, shape.forward, shape.up), (LengthUnit::M, Axis::PlusZ, Axis::PlusY));
        project.shapes.push(shape);
        assert!(Checked::new(project).is_ok());
    }

    #[test]
    fn shapes_are_found_from_another_folder_too() {
        let project = parse(include_str!("../../assets/bucket_shell.ron")).unwrap().into_inner();
        let assets = Path::new("assets");
        assert_eq!(moved(&project, assets, assets), None);
        let elsewhere = moved(&project, assets, Path::new("assets/parts")).unwrap();
        let file = Path::new(&elsewhere.shapes[0].file);
        assert!(file.is_absolute() && file.is_file(), "{}", file.display());
        // Within the new folder it needs no way from the root.
        let above = moved(&project, assets, Path::new("")).unwrap();
        assert_eq!(above.shapes[0].file, "assets/shells/bucket.stl");
    }
}
