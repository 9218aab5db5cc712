//! The demos that the program brings along.

use std::{
    fs, io,
    path::Path,
    sync::atomic::{AtomicU32, Ordering},
};

use crate::project::{Checked, Fault, Project, parse, parse_beside};

/// A project that the program brings along.
#[derive(Debug)]
pub struct Demo {
    /// Whose rig it is, in a few words.
    pub name: &'static str,
    /// What it shows.
    pub sentence: &'static str,
    /// The project as text.
    pub text: &'static str,
    /// Files that it names, by their paths from its own.
    files: &'static [(&'static str, &'static [u8])],
}

/// All of them, the one for a first look first.
pub const DEMOS: [Demo; 6] = [
    Demo {
        name: "Closed car",
        sentence: "A shell on a plain frame, nearly right: the wheel is a little too far away.",
        text: include_str!("../../assets/closed_car.ron"),
        files: &[],
    },
    Demo {
        name: "Single-seater",
        sentence: "Low and reclined, feet as high as the hips, a small wheel close over the thighs.",
        text: include_str!("../../assets/formula.ron"),
        files: &[],
    },
    Demo {
        name: "Three pedals",
        sentence: "A rig made for the right foot, braked with the left: the leg is off line, the thigh in the rim.",
        text: include_str!("../../assets/three_pedals.ron"),
        files: &[],
    },
    Demo {
        name: "Club rig",
        sentence: "A whole frame of profile rail: how it holds, what to cut, what to buy.",
        text: include_str!("../../assets/club_rig.ron"),
        files: &[],
    },
    Demo {
        name: "Open-day rig",
        sentence: "The largest: 60 rails, three drivers, and seat, wheel, pedals and screens that all move.",
        text: include_str!("../../assets/open_day.ron"),
        files: &[],
    },
    Demo {
        name: "Bucket shell",
        sentence: "A seat whose shape comes from a file, so that elbows are told from bolsters.",
        text: include_str!("../../assets/bucket_shell.ron"),
        files: &[("shells/bucket.stl", include_bytes!("../../assets/shells/bucket.stl"))],
    },
];

impl Demo {
    /// The project, with the shapes that it names.
    ///
    /// # Errors
    /// Faults, where its files cannot be laid down for a moment to be read.
    pub fn open(&self) -> Result<Checked, Vec<Fault>> {
        if self.files.is_empty() {
            return parse(self.text);
        }
        // Two may be opened at once.
        static OPENED: AtomicU32 = AtomicU32::new(0);
        let number = OPENED.fetch_add(1, Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("heelpoint-demo-{}-{number}", std::process::id()));
        // Whatever is not there is told as a fault of the shape.
        let _ = self.lay_down(&folder, |_| true);
        let project = parse_beside(self.text, &folder);
        let _ = fs::remove_dir_all(&folder);
        project
    }

    /// Puts the files that a project saved in `folder` names beside it, where they come from a demo and are not there.
    ///
    /// # Errors
    /// If one cannot be written.
    pub fn bring_along(project: &Project, folder: &Path) -> io::Result<()> {
        let named = |name: &str| project.shapes.iter().any(|shape| shape.file == name);
        DEMOS.iter().try_for_each(|demo| demo.lay_down(folder, |name| named(name) && !folder.join(name).exists()))
    }

    fn lay_down(&self, folder: &Path, wanted: impl Fn(&str) -> bool) -> io::Result<()> {
        for (name, bytes) in self.files.iter().filter(|(name, _)| wanted(name)) {
            let path = folder.join(name);
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder)?;
            }
            fs::write(path, bytes)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_demo_opens_with_the_shapes_that_it_names() {
        for demo in &DEMOS {
            let project = demo.open().unwrap_or_else(|faults| panic!("{}: {faults:?}", demo.name));
            assert!(project.shapes.iter().all(|shape| shape.mesh.0.is_some()), "{}", demo.name);
        }
    }

    #[test]
    fn a_demo_saved_elsewhere_takes_its_shapes_along() {
        let folder = std::env::temp_dir().join(format!("heelpoint-along-{}", std::process::id()));
        let demo = DEMOS.iter().find(|demo| !demo.files.is_empty()).unwrap();
        let project = demo.open().unwrap();
        fs::create_dir_all(&folder).unwrap();
        Demo::bring_along(&project, &folder).unwrap();
        let file = folder.join("mine.ron");
        crate::project::save(&file, &project, Some(demo.text)).unwrap();
        assert!(crate::project::load(&file).is_ok());
        fs::remove_dir_all(folder).unwrap();
    }
}
