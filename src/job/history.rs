//! The history in a record: entries that are only ever added, each with a checksum over itself and
//! the one before it. That shows accidents and clumsy edits; whoever knows the rule can write a
//! history that passes, so it is no protection against forgery.

use crate::spec::finding::{Finding, RecordProblem};
use crate::spec::source::Source;
use crate::spec::values::written;
use crate::spec::yaml::{Key, Node, Value};

/// FNV-1a, 64 bits, in hexadecimal: it shows that something was changed, and is no protection against
/// anybody who means to deceive.
pub fn checksum(of: impl AsRef<[u8]>) -> String {
    let hash = of
        .as_ref()
        .iter()
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
    format!("{hash:016x}")
}

/// The checksum from which the first entry goes on: over what stands at the head of the record.
pub(crate) fn seed(engine: &str, spec: &str, drive: &str) -> String {
    checksum(format!("{engine}\n{spec}\n{drive}"))
}

/// The checksum of an entry after one with the checksum `before`.
pub(crate) fn next(before: &str, body: &str) -> String {
    checksum(format!("{before}\n{body}"))
}

/// An entry as a line: `body` begins with `{ ` and ends before its checksum.
pub(crate) fn line(body: &str, sum: &str) -> String {
    format!("  - {body}sum: \"{sum}\" }}\n")
}

/// Holds the history against its checksums, as it is written: a finding at the first entry that is
/// not what it was, or at its end. What is wrong with the keys is found elsewhere.
pub(crate) fn verify(source: &Source, root: &Node, seed: &str, findings: &mut Vec<Finding>) {
    let Some(Value::List(entries)) = root.get("history").map(|node| &node.value) else {
        return;
    };
    let mut sum = seed.to_owned();
    for (i, entry) in entries.iter().enumerate() {
        let raw = source.slice(entry.span);
        let body = key(entry, "sum").and_then(|key| raw.get(..key.span.start - entry.span.start));
        let whole = body.is_some_and(|body| {
            sum = next(&sum, body);
            raw == line(body, &sum).trim_start_matches("  - ").trim_end()
        });
        if !whole {
            findings.push(Finding::new(
                RecordProblem::HistoryBroken { entry: i + 1 },
                entry.span,
            ));
            return;
        }
    }
    let Some(last) = key(root, "last") else {
        return;
    };
    let ends = root.get("last").and_then(written) == Some(sum.as_str())
        && source.text()[last.span.start..].trim_end() == last_line(&sum).trim_end();
    if !ends {
        findings.push(Finding::new(RecordProblem::HistoryCut, last.span));
    }
}

/// The last line of a record: what its last entry's checksum is.
pub(crate) fn last_line(sum: &str) -> String {
    format!("last: \"{sum}\"\n")
}

/// What stands before the last line.
pub(crate) fn without_last_line<'s>(source: &'s Source, root: &Node) -> Option<&'s str> {
    source.text().get(..key(root, "last")?.span.start)
}

fn key<'n>(node: &'n Node, name: &str) -> Option<&'n Key> {
    match &node.value {
        Value::Map(pairs) => pairs
            .iter()
            .find_map(|(key, _)| (key.text == name).then_some(key)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Records that were kept must stay readable, so the sums must not change with this program.
    /// The first value is the published one of FNV-1a (64 bits) for "a"
    /// (Fowler, Noll, Vo, Eastlake: The FNV Non-Cryptographic Hash Algorithm, test vectors).
    #[test]
    fn checksums_stay_what_they_were() {
        assert_eq!(checksum("a"), "af63dc4c8601ec8c");
        assert_eq!(checksum("foobar"), "85944171f73967e8");
        assert_eq!(
            next("af63dc4c8601ec8c", "{ x: 1, "),
            checksum("af63dc4c8601ec8c\n{ x: 1, ")
        );
    }
}
