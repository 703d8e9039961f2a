//! Fitted marks as a patch.

use crate::plane::fitting::{Change, Fitting};
use crate::render::words::escape::printable;
use crate::render::words::fitting::fitted_text;
use crate::spec::source::Source;
use std::fmt::Write as _;

/// Lines around a change by which it is found again.
const CONTEXT: usize = 3;

/// The changes as a unified diff that `git apply` and `patch -p1` take, with a line above it for each value, saying why;
/// empty if nothing changes. A path from the root is to be applied there.
pub fn fitting_text(fitting: &Fitting, source: &Source) -> String {
    let mut out = String::new();
    if fitting.changes.is_empty() {
        return out;
    }
    for mark in &fitting.marks {
        // Writing to a String cannot fail. Programs that apply patches skip what stands above the first file.
        let _ = writeln!(out, "# {}", printable(&fitted_text(mark)));
    }
    let name = source
        .name()
        .trim_start_matches("./")
        .trim_start_matches('/');
    let _ = writeln!(out, "--- {}\n+++ {}", file("a", name), file("b", name));
    let lines: Vec<&str> = source.text().split_inclusive('\n').collect();
    // Lines that were added above move the new line numbers down.
    let mut added = 0;
    for hunk in hunks(&fitting.changes) {
        let (Some(first), Some(last)) = (hunk.first(), hunk.last()) else {
            continue;
        };
        let start = first.line.saturating_sub(CONTEXT).max(1);
        let end = (last.line + CONTEXT).min(lines.len());
        let mut body = String::new();
        let mut more = 0;
        for number in start..=end {
            let old = lines[number - 1];
            match hunk.iter().find(|change| change.line == number) {
                None => line(&mut body, ' ', old),
                Some(change) => {
                    line(&mut body, '-', old);
                    let ending = &old[old.trim_end_matches(['\n', '\r']).len()..];
                    let new: Vec<&str> = change.new.lines().collect();
                    more += new.len() - 1;
                    for (n, text) in new.iter().enumerate() {
                        // The last takes over how the old line ended, be it by nothing.
                        let ending = match (n + 1 == new.len(), ending) {
                            (false, "") => "\n",
                            _ => ending,
                        };
                        line(&mut body, '+', &format!("{text}{ending}"));
                    }
                }
            }
        }
        let count = end - start + 1;
        let _ = writeln!(
            out,
            "@@ -{} +{} @@",
            range(start, count),
            range(start + added, count + more)
        );
        out.push_str(&body);
        added += more;
    }
    out
}

/// Changes whose surroundings touch belong together.
fn hunks(changes: &[Change]) -> impl Iterator<Item = &[Change]> {
    changes.chunk_by(|one, next| next.line - one.line <= 2 * CONTEXT)
}

fn range(start: usize, count: usize) -> String {
    if count == 1 {
        start.to_string()
    } else {
        format!("{start},{count}")
    }
}

fn line(out: &mut String, sign: char, line: &str) {
    out.push(sign);
    out.push_str(line);
    if !line.ends_with('\n') {
        out.push_str("\n\\ No newline at end of file\n");
    }
}

/// A file's name behind the first part that stands for its tree: in quotes where it holds what would end it, and with a tab
/// behind it where it holds a space.
fn file(tree: &str, name: &str) -> String {
    let odd = |c: char| c.is_control() || matches!(c, '"' | '\\');
    if name.contains(odd) {
        let mut quoted = format!("\"{tree}/");
        for c in name.chars() {
            match c {
                '"' | '\\' => {
                    quoted.push('\\');
                    quoted.push(c);
                }
                c if c.is_control() => {
                    for byte in c.to_string().bytes() {
                        let _ = write!(quoted, "\\{byte:03o}");
                    }
                }
                c => quoted.push(c),
            }
        }
        return quoted + "\"";
    }
    let tab = if name.contains(' ') { "\t" } else { "" };
    format!("{tree}/{name}{tab}")
}
