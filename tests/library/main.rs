//! The library: its laws, its oracle, published values, its order.

#[path = "../support/mod.rs"]
mod support;

mod allocation;
mod belts;
mod colours;
mod exact;
mod examples;
mod findings;
mod gears;
mod geometry_findings;
mod geometry_fit;
mod geometry_properties;
mod geometry_published;
mod geometry_report;
mod geometry_specs;
mod halt;
mod judged;
mod lattice;
mod laws;
mod layers;
mod lesson;
mod lines;
mod mistakes;
mod paint;
mod proof;
mod published;
mod safe_moves;
mod second_reader;
mod simulator;
mod valves_findings;
mod valves_laws;
mod valves_published;
mod what_follows;
