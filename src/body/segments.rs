//! Published and estimated constants of body segments (`shared/segments.csv`): joint centres, masses.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::project::Population;

/// A row of the table.
#[derive(Debug, Deserialize)]
struct Row {
    name: String,
    men: f64,
    women: f64,
}

/// The constants of one population.
#[derive(Clone, Copy, Debug)]
pub struct Segments(Population);

impl Segments {
    /// The constants of a population.
    pub const fn of(population: Population) -> Self {
        Self(population)
    }

    /// A constant by its name in the table, in the table's unit.
    ///
    /// # Panics
    /// If the table has no such row: a slip of ours, caught by the tests.
    pub fn get(self, name: &str) -> f64 {
        static TABLE: OnceLock<Vec<Row>> = OnceLock::new();
        let table = TABLE.get_or_init(|| {
            csv::Reader::from_reader(include_str!("../../shared/segments.csv").as_bytes())
                .into_deserialize()
                .collect::<Result<_, _>>()
                .expect("the compiled-in table of segments is well-formed")
        });
        let row = table.iter().find(|row| row.name == name);
        let row = row.unwrap_or_else(|| panic!("no row {name} in the table of segments"));
        match self.0 {
            Population::Men => row.men,
            Population::Women => row.women,
        }
    }
}
