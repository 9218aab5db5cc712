//! Reads the command line and calls a face.

fn main() {}
