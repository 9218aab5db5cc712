//! Pictures a second of the whole interface, off the screen, while the wheel is dragged with live findings.
//!
//! `cargo bench --bench frames -- [FILE] [WIDTHxHEIGHT] [SECONDS] [reach]`; it prints figures and asserts nothing.

#![allow(clippy::print_stdout, reason = "a bench prints")]

use std::{path::PathBuf, time::Duration};

use heelpoint::{
    project::load,
    viewer::{PaceRequest, give_back_memory, pace},
};

fn main() {
    // As the window does.
    give_back_memory();
    let given: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let file = given
        .iter()
        .find(|word| word.ends_with(".ron"))
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("assets/club_rig.ron"), PathBuf::from);
    let size = given.iter().find_map(|word| {
        let (width, height) = word.split_once('x')?;
        Some((width.parse().ok()?, height.parse().ok()?))
    });
    let seconds = given.iter().find_map(|word| word.parse::<f64>().ok()).unwrap_or(5.0);
    let reach = given.iter().any(|word| word == "reach");
    let (project, _) = match load(&file) {
        Ok(loaded) => loaded,
        Err(error) => return println!("{error}"),
    };
    let request = PaceRequest { size: size.unwrap_or((1920, 1080)), length: Duration::from_secs_f64(seconds), reach };
    match pace(&project, &request) {
        Ok(pace) => {
            println!("{} at {:?}, {} rails, reach {reach}", pace.adapter, request.size, project.frame.len());
            println!("  first whole picture  {:.2} s", pace.first.as_secs_f64());
            println!(
                "  dragging             {:.0} pictures/s, of it {:.1} ms in the processor, slowest 1 % from {:.1} ms, {:.0} postures/s",
                pace.per_second(),
                pace.dragging.as_secs_f64() * 1e3,
                pace.slow.as_secs_f64() * 1e3,
                pace.studies as f64 / pace.took.as_secs_f64()
            );
            println!(
                "  turning the view     {:.0} pictures/s, of it {:.1} ms in the processor",
                pace.turning,
                pace.preparing.as_secs_f64() * 1e3
            );
            for (pass, took) in &pace.passes {
                println!("    {pass:<40} {:.2} ms", took.as_secs_f64() * 1e3);
            }
            println!("  resident memory      {:.0} MB", resident_mb().unwrap_or(f64::NAN));
        }
        Err(error) => println!("{error}"),
    }
}

/// The peak of this process, where the system tells it.
fn resident_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kilobytes| kilobytes / 1024.0)
}
