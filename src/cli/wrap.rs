//! Lines broken to the width of a terminal.

use std::io::IsTerminal as _;

/// How many columns the terminal has; `None` where there is none, or none to speak of.
pub(super) fn columns() -> Option<usize> {
    let terminal = std::io::stdout().is_terminal();
    let (terminal_size::Width(columns), _) =
        terminal.then(terminal_size::terminal_size).flatten()?;
    (columns >= 20).then_some(usize::from(columns))
}

/// `text` with its lines broken between words, and between keys where a line offers some.
pub(super) fn wrapped(text: &str, columns: usize) -> String {
    text.split_inclusive('\n')
        .map(|line| wrapped_line(line, columns))
        .collect()
}

fn wrapped_line(line: &str, columns: usize) -> String {
    if width(line.trim_end()) <= columns {
        return line.to_owned();
    }
    let body = line.trim_start_matches(' ');
    let start = line.len() - body.len();
    let numbered = body.starts_with(|c: char| c.is_ascii_digit());
    // `1 = on it`, `y = ready`.
    let keyed = numbered || body.get(1..4) == Some(" = ");
    let indent = match () {
        () if body.starts_with("- ") => start + 2,
        () if numbered && start > 0 => start + 3,
        () => start,
    };
    let words = body.trim_end_matches('\n');
    let mut out = " ".repeat(start);
    if keyed && start == 0 {
        out.push_str(&keys_in_lines(words, columns));
    } else {
        lay(&mut out, words, indent, columns);
    }
    if line.ends_with('\n') {
        out.push('\n');
    }
    out
}

/// Keys with what they do, as many to a line as there is room for; one with more words than a line holds is
/// broken within, too.
fn keys_in_lines(keys: &str, columns: usize) -> String {
    const GAP: &str = "   ";
    let mut out = String::new();
    let mut broken = false;
    for key in keys.split(GAP) {
        let line = out.rsplit('\n').next().unwrap_or_default();
        if !out.is_empty() {
            let fits = !broken && width(line) + GAP.len() + width(key) <= columns;
            out.push_str(if fits { GAP } else { "\n" });
        }
        broken = width(key) > columns;
        if broken {
            lay(&mut out, key, 4, columns);
        } else {
            out.push_str(key);
        }
    }
    out
}

/// Writes `words` behind what stands in the last line of `out`, going on `indent` columns in on a new one where the
/// line is full.
fn lay(out: &mut String, words: &str, indent: usize, columns: usize) {
    let mut used = width(out.rsplit('\n').next().unwrap_or_default());
    for (n, word) in words.split(' ').enumerate() {
        let size = width(word);
        if n > 0 && used + 1 + size > columns {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            used = indent;
        } else if n > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(word);
        used += size;
    }
}

/// Columns that a text takes, styles taking none.
fn width(text: &str) -> usize {
    let mut pieces = text.split("\u{1b}[");
    let first = pieces.next().map_or(0, |piece| piece.chars().count());
    first
        + pieces
            .map(|piece| {
                let rest = piece.find(|c: char| c.is_ascii_alphabetic());
                rest.map_or(0, |end| piece[end + 1..].chars().count())
            })
            .sum::<usize>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_between_keys() {
        for (line, broken) in [
            ("short\n", "short\n"),
            ("one two three four\n", "one two\nthree four\n"),
            ("  - one two three\n", "  - one\n    two\n    three\n"),
            ("  1. one two\n", "  1. one\n     two\n"),
            (
                "1 = on   2 = ahead   q = stop\n",
                "1 = on\n2 = ahead\nq = stop\n",
            ),
            ("\u{1b}[1mone\u{1b}[0m two\n", "\u{1b}[1mone\u{1b}[0m two\n"),
            ("overlongwordhere and\n", "overlongwordhere\nand\n"),
            ("no end here", "no end\nhere"),
            ("1 = on and on   2 = off", "1 = on and\n    on\n2 = off"),
            ("1 = on and on   2=o", "1 = on and\n    on\n2=o"),
            ("y = so   q = stop\n", "y = so\nq = stop\n"),
        ] {
            assert_eq!(wrapped_line(line, 10), broken);
        }
    }
}
