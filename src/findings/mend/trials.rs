//! Plans carried out and solved, each once: both sides of a body often ask for the same.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, OnceLock, PoisonError},
};

use super::{Finding, Plan, Rates, rates::moved};
use crate::{body::Body, project::Checked, study::check_body};

/// Values afterwards, in the order of the findings before; `None` for a figure that is gone.
pub(super) type Values = Arc<[Option<f64>]>;

/// A place for the answer to one plan; `None` in it where the plan makes no sound project.
type Answer = Arc<OnceLock<Option<Values>>>;

pub(super) struct Trials<'a> {
    keys: Vec<String>,
    project: &'a Checked,
    rates: &'a Rates,
    /// By adjuster and the bits of its move, the adjusters in order.
    known: Mutex<BTreeMap<Vec<(usize, u64)>, Answer>>,
}

impl<'a> Trials<'a> {
    pub(super) fn new(findings: &[Finding], project: &'a Checked, rates: &'a Rates) -> Self {
        let keys = findings.iter().map(Finding::key).collect();
        Self { keys, project, rates, known: Mutex::new(BTreeMap::new()) }
    }

    /// The values with a plan carried out.
    pub(super) fn solve(&self, plan: &Plan) -> Option<Values> {
        let mut key: Vec<(usize, u64)> = plan.moves.iter().map(|&(index, by)| (index, by.to_bits())).collect();
        key.sort_unstable();
        let answer = self.known.lock().unwrap_or_else(PoisonError::into_inner).entry(key).or_default().clone();
        answer.get_or_init(|| self.carry_out(plan)).clone()
    }

    fn carry_out(&self, plan: &Plan) -> Option<Values> {
        let project = moved(self.project, &plan.moves(self.rates))?;
        let after = check_body(&project, Body::of(&project.driver)).findings;
        // Both lists are in one order, but for figures that only one of them has.
        let mut from = 0;
        let value = |key: &String| {
            let place = (from..after.len()).find(|&place| after[place].key() == *key)?;
            from = place + 1;
            Some(after[place].value)
        };
        Some(self.keys.iter().map(value).collect())
    }
}
