//! The command line: one file a subcommand, thin: read, call, print.
