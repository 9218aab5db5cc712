//! What hands and feet reach, against others' numbers and by brute force.

mod brute_force;
mod export;
mod obstacles;
mod people;
mod published;
