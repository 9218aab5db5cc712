//! `heelpoint [FILE]`: the window.

use std::path::Path;

use super::{Ending, check::table, read_or_demo};
use crate::{project::Checked, study::check_and_mend};

/// Opens the window on a project, or on the demo.
pub(super) fn open(file: Option<&Path>) -> Ending {
    #[cfg(feature = "viewer")]
    crate::viewer::give_back_memory();
    match read_or_demo(file) {
        Ok((project, text)) => window(&project, file, &text),
        Err(ending) => ending,
    }
}

#[cfg(feature = "viewer")]
fn window(project: &Checked, file: Option<&Path>, text: &str) -> Ending {
    use crate::viewer::{Start, ViewerError, run};
    let start = Start { project: project.clone(), path: file.map(Path::to_owned), text: text.to_owned() };
    match run(start) {
        Ok(()) => Ending::Good,
        Err(error) => {
            eprintln!("{error}");
            if matches!(error, ViewerError::NoDisplay) {
                without_window(project, file);
            }
            Ending::Unable
        }
    }
}

#[cfg(not(feature = "viewer"))]
fn window(project: &Checked, file: Option<&Path>, _text: &str) -> Ending {
    eprintln!("This heelpoint was built without its window; build it with its default features.");
    without_window(project, file);
    Ending::Unable
}

/// What can be said without a window: the findings, and how to get a picture.
fn without_window(project: &Checked, file: Option<&Path>) {
    say!("{}", table(&check_and_mend(project), true));
    let name = file.map_or_else(|| "my_rig.ron".to_owned(), |path| path.display().to_string());
    say!("For a picture without a display: heelpoint picture {name} -o picture.png");
}
