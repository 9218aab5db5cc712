//! Estimates against people that the tables have not seen: as many as the survey has, made from the moments of its full
//! sample, of which the model knows only 85 %.
//!
//! Found, root mean square error in mm with measurements that are exact and with those of a tape at home, men first;
//! bounds in brackets: seated eye height 8.2 and 10.2, women 7.4 and 9.6 [8.5, 7.7]; buttock to knee 11.2 and 12.0,
//! women 11.8 and 12.5 [12.0, 13.2]; knee height 7.8 and 8.7, women 7.3 and 8.2 [8.3, 7.8]; seated hip breadth 13.6 and
//! 13.8, women 17.7 and 17.9 [14.2, 17.9]. The nominal 90 % held 89.5 to 91 %.

use std::collections::BTreeMap;

use heelpoint::{
    body::{Dimensions, Draw, Survey},
    project::{Measured, Measurements, Population},
};
use nalgebra::{DMatrix, DVector};

/// The measurements that the estimates are made from.
const FROM: [&str; 4] = ["stature", "weightkg", "sittingheight", "crotchheight"];
/// Estimated dimensions with the error that the plain conditional normal has on people held back from the tables, mm.
const BOUNDS: [(&str, f64, f64); 4] = [
    ("eyeheightsitting", 8.5, 7.7),
    ("buttockkneelength", 12.0, 13.2),
    ("kneeheightsitting", 8.3, 7.8),
    ("hipbreadthsitting", 14.2, 17.9),
];
/// Half of a normal distribution's middle 90 %, in standard deviations.
const NINETY: f64 = 1.644_854;

fn measured(value: impl Fn(&str) -> f64, error: impl Fn(f64) -> f64) -> Measurements {
    let mut measured = Measurements::default();
    for &(field, variable, _, _, usual) in Measurements::LIST.iter().filter(|entry| FROM.contains(&entry.1)) {
        *measured.entry(field).unwrap() = Some(Measured::new(value(variable), error(usual)));
    }
    measured
}

/// Mean and standard deviation of everyone in the survey.
fn full_sample(population: Population) -> BTreeMap<String, [f64; 2]> {
    let table = match population {
        Population::Men => include_str!("../../shared/ansur2/men_stats_full_sample.csv"),
        Population::Women => include_str!("../../shared/ansur2/women_stats_full_sample.csv"),
    };
    let row = |row: csv::StringRecord| (row[0].to_owned(), [3, 4].map(|at| row[at].parse().unwrap()));
    csv::Reader::from_reader(table.as_bytes()).records().map(|line| row(line.unwrap())).collect()
}

/// Names, and Pearson correlations as the table has them.
fn correlations(population: Population) -> (Vec<String>, DMatrix<f64>) {
    let table = match population {
        Population::Men => include_str!("../../shared/ansur2/men_correlation.csv"),
        Population::Women => include_str!("../../shared/ansur2/women_correlation.csv"),
    };
    let rows: Vec<csv::StringRecord> =
        csv::Reader::from_reader(table.as_bytes()).records().map(Result::unwrap).collect();
    let names = rows.iter().map(|row| row[0].to_owned()).collect();
    let matrix = DMatrix::from_fn(rows.len(), rows.len(), |row, column| rows[row][column + 1].parse().unwrap());
    (names, matrix)
}

#[test]
fn standard_deviations_are_those_of_the_plain_conditional_normal() {
    for population in [Population::Men, Population::Women] {
        // Of the table alone: regression of each dimension on the four, S(y|x) = s² (1 − rᵀ R⁻¹ r).
        let (names, all) = correlations(population);
        let at = |name: &str| names.iter().position(|known| known == name).unwrap();
        let among = DMatrix::from_fn(4, 4, |a, b| all[(at(FROM[a]), at(FROM[b]))]);
        let survey = Survey::of(population);
        let exact = measured(|name| survey.mean(name).unwrap(), |_| 0.0);
        let dimensions = Dimensions::estimate(population, &exact);
        for (name, men, women) in BOUNDS {
            let with = DVector::from_fn(4, |place, _| all[(at(name), at(FROM[place]))]);
            let explained = with.dot(&among.clone().lu().solve(&with).unwrap());
            let sd = survey.variables()[survey.index(name).unwrap()].sd * (1.0 - explained).sqrt();
            let found = dimensions.get(name).sd;
            assert!((found - sd).abs() < 0.01, "{name}: {found} for {sd}");
            let bound = if population == Population::Men { men } else { women };
            // The bounds come from 298 women and 612 men, which leaves them uncertain by 3 to 4 %; the hip breadth of women
            // scatters by 18.08 mm among the people of the table.
            assert!(found <= 1.02 * bound, "{name}: {found} for at most {bound}");
        }
    }
}

#[test]
fn people_of_the_full_sample_are_estimated_as_well_as_can_be() {
    for population in [Population::Men, Population::Women] {
        let (names, correlations) = correlations(population);
        let full = full_sample(population);
        let factor = correlations.cholesky().unwrap().l();
        let at = |name: &str| names.iter().position(|known| known == name).unwrap();
        let people = 4000;
        for exact in [true, false] {
            let mut off = [(0.0, 0.0); 4];
            for index in 0..people {
                let mut draw = Draw::new(11, index);
                let normals = DVector::from_fn(names.len(), |_, _| draw.normal());
                let person = &factor * normals;
                let value = |name: &str| full[name][0] + full[name][1] * person[at(name)];
                let mut taken = measured(value, |usual| if exact { 0.0 } else { usual });
                for &(field, ..) in Measurements::LIST {
                    if let Some(measured) = taken.entry(field).unwrap() {
                        measured.value += measured.error * draw.normal();
                    }
                }
                let dimensions = Dimensions::estimate(population, &taken);
                for ((name, ..), (square, inside)) in BOUNDS.iter().zip(&mut off) {
                    let estimate = dimensions.get(name);
                    let error = estimate.mean - value(name);
                    *square += error * error;
                    *inside += f64::from(u8::from(error.abs() <= NINETY * estimate.sd));
                }
            }
            for ((name, men, women), (square, inside)) in BOUNDS.iter().zip(off) {
                let (error, share) = ((square / people as f64).sqrt(), inside / people as f64);
                let bound = if population == Population::Men { men } else { women };
                assert!((0.85..=0.95).contains(&share), "{population:?}, {name}: {share}");
                assert!(!exact || error <= *bound, "{population:?}, {name}: {error} for at most {bound}");
            }
        }
    }
}
