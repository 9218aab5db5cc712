//! Any text as a project file: an answer without a panic, and what loads is saved and loads again.
#![no_main]

use heelpoint::project::{merge, parse, to_text};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match parse(text) {
        Ok(project) => {
            assert_eq!(parse(&to_text(&project)).as_ref(), Ok(&project), "saved and loaded again");
            let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
            assert_eq!(merge(text, &project).as_deref(), Some(text), "nothing to change");
        }
        Err(faults) => assert!(!faults.is_empty() && faults.iter().all(|fault| !fault.sentence().is_empty())),
    }
});
