//! tautmark for a browser: one text in, one text out.
//!
//! A question is a JSON object whose `ask` says what is wanted; its answer is `{"ok": ...}` or `{"error": "..."}`. All that
//! is answered comes out of the library as it is there. Nothing is kept from one question to the next but
//! the drive that was read last, so that it need not be read for every frame: the same question always has the same answer.

#[cfg(target_arch = "wasm32")]
mod memory;

mod answer;
mod ask;
mod interview;
mod job;

pub use answer::answer;
