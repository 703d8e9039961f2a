//! How texts come into the module and out of it. A script can only hand over numbers, so it asks for room,
//! writes its question there, and is told where the answer is.
#![allow(
    unsafe_code,
    reason = "exported names, and memory that a script fills; nothing else in this crate is unsafe"
)]
#![allow(
    clippy::cast_possible_truncation,
    reason = "an address and a length have 32 bits here"
)]

use std::mem;

/// Room for so many bytes, to be given back by [`tautmark_answer`].
#[unsafe(no_mangle)]
pub(crate) extern "C" fn tautmark_room(length: usize) -> *mut u8 {
    let mut room = vec![0_u8; length].into_boxed_slice();
    let at = room.as_mut_ptr();
    mem::forget(room);
    at
}

/// Takes the question that stands in a room, and gives the address of its answer in the upper half and its length in
/// the lower one. The answer is given back by [`tautmark_free`].
#[unsafe(no_mangle)]
pub(crate) extern "C" fn tautmark_answer(at: *mut u8, length: usize) -> u64 {
    let question = take(at, length);
    let answer = crate::answer(&String::from_utf8_lossy(&question)).into_bytes();
    let length = answer.len() as u64;
    let answer = Box::leak(answer.into_boxed_slice()).as_mut_ptr();
    (answer as usize as u64) << 32 | length
}

/// Gives an answer back.
#[unsafe(no_mangle)]
pub(crate) extern "C" fn tautmark_free(at: *mut u8, length: usize) {
    drop(take(at, length));
}

fn take(at: *mut u8, length: usize) -> Box<[u8]> {
    // SAFETY: the script hands back, once, an address and a length that it was given by `tautmark_room` or
    // `tautmark_answer`; both made a boxed slice of that length there and forgot it. The module's memory is its own, so a
    // script that breaks this harms nothing but the answers of its own page.
    unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(at, length)) }
}
