//! The window: small plugins over the core.
