//! `heelpoint [FILE]`: the window.

use std::path::PathBuf;

use super::{DEMO, Ending, check::table, read};
use crate::{
    project::{Checked, parse},
    study::check_and_mend,
};

/// Opens the window on a project, or on the demo.
pub(super) fn open(file: Option<PathBuf>) -> Ending {
    let (project, text) = match &file {
        Some(path) => match read(path) {
            Ok(read) => read,
            Err(ending) => return ending,
        },
        None => match parse(DEMO) {
            Ok(project) => (project, DEMO.to_owned()),
            Err(faults) => {
                for fault in faults {
                    eprintln!("{}", fault.in_file("demo"));
                }
                return Ending::BadInput;
            }
        },
    };
    window(project, file, text)
}

#[cfg(feature = "viewer")]
fn window(project: Checked, file: Option<PathBuf>, text: String) -> Ending {
    use crate::viewer::{Start, ViewerError, run};
    match run(Start { project: project.clone(), path: file.clone(), text }) {
        Ok(()) => Ending::Good,
        Err(error @ ViewerError::NoDisplay) => {
            eprintln!("{error}");
            without_window(&project, file)
        }
        Err(error) => {
            eprintln!("{error}");
            Ending::Unable
        }
    }
}

#[cfg(not(feature = "viewer"))]
fn window(project: Checked, file: Option<PathBuf>, _text: String) -> Ending {
    eprintln!("This heelpoint was built without its window; build it with its default features.");
    without_window(&project, file)
}

/// What can be said without a window: the findings, and how to get a picture.
fn without_window(project: &Checked, file: Option<PathBuf>) -> Ending {
    println!("{}", table(&check_and_mend(project), true));
    let name = file.map_or_else(|| "my_rig.ron".to_owned(), |path| path.display().to_string());
    println!("For a picture without a display: heelpoint picture {name} -o picture.png");
    Ending::Unable
}
