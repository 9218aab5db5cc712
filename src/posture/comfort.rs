//! Discomfort of a joint angle: its distance from a published neutral in published spreads.

/// Neutral and spread of one joint angle, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comfort {
    /// Most comfortable angle.
    pub neutral: f64,
    /// Distance at which discomfort is 1.
    pub spread: f64,
}
