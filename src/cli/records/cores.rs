//! The batches answered, on one core or several.

use super::super::stream;
use super::batch::{Answered, Batch, Cutter, Tally, answer};
use super::progress::Progress;
use anyhow::{Context as _, Result, bail};
use std::collections::BTreeMap;
use std::io::Read;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use tautmark::{
    Drive,
    stream::{Fields, LineChecker},
};

/// On one core.
pub(super) fn alone(
    reader: impl Read,
    drives: &BTreeMap<String, Drive>,
    fields: Fields,
    progress: &mut Progress,
) -> Result<Tally> {
    let mut cutter = Cutter::new(reader);
    let mut checker = LineChecker::new(drives).with(fields);
    let mut total = Tally::default();
    let mut room = String::new();
    while let Some(mut batch) = cutter.next().context(super::UNREADABLE)? {
        batch.room = room;
        let answered = answer(&mut checker, batch);
        stream::output(&answered.text)?;
        total.join(answered.tally);
        progress.show(answered.read, &total);
        room = answered.text;
    }
    Ok(total)
}

/// On several cores: one thread reads, some answer, this one writes. As many batches are under way
/// as there are tokens, so that memory stays what it is however slow one of them is.
pub(super) fn together(
    reader: impl Read + Send + 'static,
    drives: &Arc<BTreeMap<String, Drive>>,
    jobs: usize,
    fields: Fields,
    progress: &mut Progress,
) -> Result<Tally> {
    let most = 4 * jobs;
    let (token, tokens) = sync_channel::<String>(most);
    for _ in 0..most {
        token.send(String::new())?;
    }
    let (to_work, work) = sync_channel::<Batch>(most);
    let work = Arc::new(Mutex::new(work));
    let (to_write, written) = sync_channel::<Answered>(most);
    // Nobody waits for these threads: when the output is gone the program ends, and they with it,
    // even if one of them is waiting for input that never comes.
    let reading = std::thread::spawn(move || -> std::io::Result<()> {
        let mut cutter = Cutter::new(reader);
        while let Ok(room) = tokens.recv() {
            let Some(mut batch) = cutter.next()? else {
                break;
            };
            batch.room = room;
            if to_work.send(batch).is_err() {
                break;
            }
        }
        Ok(())
    });
    let mut working = Vec::with_capacity(jobs);
    for _ in 0..jobs {
        let (work, to_write, drives) = (Arc::clone(&work), to_write.clone(), Arc::clone(drives));
        working.push(std::thread::spawn(move || {
            work_off(&work, &to_write, &drives, fields);
        }));
    }
    drop(to_write);
    let mut total = Tally::default();
    let mut waiting: BTreeMap<u64, Answered> = BTreeMap::new();
    let mut next = 0;
    for answered in written {
        waiting.insert(answered.place, answered);
        while let Some(answered) = waiting.remove(&next) {
            next += 1;
            stream::output(&answered.text)?;
            total.join(answered.tally);
            progress.show(answered.read, &total);
            // The reader is gone once it has read all.
            let _ = token.send(answered.text);
        }
    }
    // A thread that failed has left lines without an answer, and that must not pass for all.
    if working.into_iter().any(|thread| thread.join().is_err()) {
        bail!("answering the records failed");
    }
    match reading.join() {
        Ok(read) => read.context(super::UNREADABLE)?,
        Err(_) => bail!("reading the records failed"),
    }
    Ok(total)
}

fn work_off(
    work: &Mutex<Receiver<Batch>>,
    to_write: &SyncSender<Answered>,
    drives: &BTreeMap<String, Drive>,
    fields: Fields,
) {
    let mut checker = LineChecker::new(drives).with(fields);
    loop {
        let batch = match work.lock() {
            Ok(work) => work.recv(),
            Err(_) => return,
        };
        let Ok(batch) = batch else { return };
        if to_write.send(answer(&mut checker, batch)).is_err() {
            return;
        }
    }
}
