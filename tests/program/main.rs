//! The program as people run it: commands, files, pictures, pages.

#[path = "../support/mod.rs"]
mod support;

mod ask;
mod ask_small;
mod belt;
mod bounded;
mod camshafts;
mod comma;
mod command_line;
mod contracts;
mod doors;
mod draw;
mod explain;
mod fit_patches;
mod gears;
mod geometry_wear;
mod glossary;
mod hostile;
mod job;
mod job_ask;
mod job_car;
mod job_kill;
mod lint_formats;
mod lookalikes;
mod page;
mod paint;
mod readme;
mod record;
mod roll;
mod safe_moves;
mod schema;
mod slip_command;
mod stream;
mod tired;
mod torque;
mod view;
