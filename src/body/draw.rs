//! Chance: people drawn from what is known of one.

use nalgebra::DVector;

use super::Dimensions;

/// Repeatable random numbers: `SplitMix64` (Steele, Lea and Flood 2014, from memory) and the normal deviates that Box
/// and Muller (1958) make of two uniform ones.
#[derive(Clone, Debug)]
pub struct Draw {
    state: u64,
    /// The second deviate of a pair.
    spare: Option<f64>,
}

impl Draw {
    /// The numbers of draw `index` under a seed: draws can be made in any order and on any core.
    pub fn new(seed: u64, index: u64) -> Self {
        let mut of_seed = Self { state: seed, spare: None };
        // Far apart for neighbours of either.
        let start = of_seed.bits() ^ index.wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let mut draw = Self { state: start, spare: None };
        draw.state = draw.bits();
        draw
    }

    /// 64 random bits.
    const fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Evenly spread over 0 (left out) to 1.
    pub fn uniform(&mut self) -> f64 {
        // 53 bits are what a number holds.
        ((self.bits() >> 11) as f64 + 1.0) / 9_007_199_254_740_992.0
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.uniform()).sin_cos();
        self.spare = Some(radius * sin);
        radius * cos
    }

    fn normals(&mut self, count: usize) -> DVector<f64> {
        DVector::from_fn(count, |_, _| self.normal())
    }
}

impl Dimensions {
    /// One of the people who this may be: all dimensions together, with the correlations that they have, the spread
    /// of the population and of the measuring.
    ///
    /// Someone of the population, μ + F n, is measured with the same errors, e, and moved by what the measurements
    /// would then have to move: x̂ + F n − K (H F n + e) has mean x̂ and covariance Σ − K H Σ (Hoffman and Ribak 1991,
    /// from memory). Nothing that may be singular is factored.
    #[must_use]
    pub fn drawn(&self, draw: &mut Draw) -> Self {
        let factor = self.survey().factor();
        let off = factor * draw.normals(factor.ncols());
        let errors = self.errors();
        let seen = DVector::from_fn(errors.len(), |place, _| off[self.taken()[place]] + errors[place] * draw.normal());
        let moved = off - self.gain() * seen;
        self.moved(&moved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Measured, Measurements, Population};

    #[test]
    fn bits_are_those_of_the_published_generator() {
        // The first numbers of SplitMix64 for the seed 1234567, as in the reference tables of other implementations.
        let mut draw = Draw { state: 1_234_567, spare: None };
        let expected = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!([draw.bits(), draw.bits(), draw.bits()], expected);
    }

    #[test]
    fn drawn_people_have_the_mean_and_covariance_of_what_is_known() {
        let measured = Measurements {
            stature_mm: Some(Measured::new(1700.0, 8.0)),
            mass_kg: Some(Measured::new(90.0, 1.0)),
            shoulder_height_sitting_mm: Some(Measured::new(600.0, 10.0)),
            ..Measurements::default()
        };
        let known = Dimensions::estimate(Population::Men, &measured);
        let (covariance, names) = (known.covariance(), known.iter().map(|(name, ..)| name).collect::<Vec<_>>());
        let at = |name: &str| names.iter().position(|known| *known == name).unwrap();
        let pairs = [
            ("stature", "stature"),
            ("hipbreadthsitting", "hipbreadthsitting"),
            ("sittingheight", "trochanterionheight"),
            ("acromialheightsitting_derived", "acromialheight"),
            ("weightkg", "thighclearance"),
        ];
        const DRAWS: u64 = 20_000;
        let people: Vec<Dimensions> = (0..DRAWS).map(|index| known.drawn(&mut Draw::new(7, index))).collect();
        let mean = |name: &str| people.iter().map(|p| p.get(name).mean).sum::<f64>() / DRAWS as f64;
        for (a, b) in pairs {
            let (mean_a, mean_b) = (mean(a), mean(b));
            let product = |p: &Dimensions| (p.get(a).mean - mean_a) * (p.get(b).mean - mean_b);
            let found = people.iter().map(product).sum::<f64>() / DRAWS as f64;
            let [sd_a, sd_b] = [a, b].map(|name| covariance[(at(name), at(name))].sqrt());
            // Five standard errors of a mean, and of a covariance of normal variables at most √2 times as much.
            let share = 5.0 / (DRAWS as f64).sqrt();
            assert!((mean_a - known.get(a).mean).abs() < share * sd_a, "{a}: {mean_a}");
            let expected = covariance[(at(a), at(b))];
            assert!((found - expected).abs() < 1.5 * share * sd_a * sd_b, "{a}, {b}: {found} for {expected}");
        }
    }
}
