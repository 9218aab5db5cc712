//! Starting the program where there is a screen, where there is none, and where nothing can draw.

use std::{
    path::Path,
    process::{Command, Output},
    thread::sleep,
    time::Duration,
};

use crate::screen::{Running, Screen};

fn heelpoint() -> Command {
    Command::new(env!("CARGO_BIN_EXE_heelpoint"))
}

#[test]
fn without_a_display_the_demo_is_checked_and_a_picture_is_offered() {
    let Output { status, stdout, stderr } =
        heelpoint().env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY").env_remove("WAYLAND_SOCKET").output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&stdout), String::from_utf8_lossy(&stderr));
    assert_eq!(status.code(), Some(3), "{err}");
    assert!(err.contains("display"), "{err}");
    assert!(out.contains("Closed car, nearly right") && out.contains("heelpoint picture"), "{out}");
}

#[test]
fn without_a_graphics_driver_the_package_to_install_is_named() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/closed_car.ron");
    let out = std::env::temp_dir().join(format!("heelpoint-undrawn-{}.png", std::process::id()));
    let ran = heelpoint()
        .arg("picture")
        .arg(file)
        .arg("-o")
        .arg(&out)
        .env("VK_ICD_FILENAMES", "/dev/null")
        .env("VK_DRIVER_FILES", "/dev/null")
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&ran.stderr);
    assert_eq!(ran.status.code(), Some(3), "{err}");
    assert!(err.contains("mesa-vulkan-drivers"), "{err}");
    assert!(!err.contains("panicked"), "{err}");
}

#[test]
fn the_window_opens_on_a_file_and_names_it() {
    let screen = Screen::open();
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/formula.ron");
    let program = heelpoint().arg(file).env("DISPLAY", &screen.name).env_remove("WAYLAND_DISPLAY").spawn().unwrap();
    let mut program = Running(program);
    let window = screen.window();
    let title = screen.title(&window, "the file's title", |title| title.contains("Single-seater"));
    assert!(!title.contains('●'), "nothing is unsaved: {title}");
    // It goes on running, and draws without dying, while a person looks and turns the view.
    for (x, y) in [("600", "400"), ("700", "380")] {
        screen.xdotool(&["mousemove", x, y, "click", "1"]);
        sleep(Duration::from_secs(1));
    }
    screen.xdotool(&["key", "1"]);
    sleep(Duration::from_secs(2));
    assert!(program.0.try_wait().unwrap().is_none(), "the program has ended by itself");
}
