//! Lines broken to the width of a terminal.

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
    let mut indent = line.len() - body.len();
    let keys = indent == 0 && body.starts_with(|c: char| c.is_ascii_digit());
    if body.starts_with("- ") {
        indent += 2;
    } else if !keys && body.starts_with(|c: char| c.is_ascii_digit()) {
        indent += 3;
    }
    let gap = if keys { "   " } else { " " };
    let start = line.len() - body.len();
    let mut out = " ".repeat(start);
    let mut used = start;
    let mut first = true;
    for word in body.trim_end_matches('\n').split(gap) {
        // A key with more words than a line holds is broken within, too.
        if keys && width(word) > columns {
            if !first {
                out.push('\n');
            }
            let words = format!("    {word}");
            let broken = wrapped_line(&words, columns);
            out.push_str(broken.trim_start());
            first = false;
            used = columns;
            continue;
        }
        let size = width(word);
        if first {
            first = false;
        } else if used + gap.len() + size > columns {
            out.truncate(out.trim_end_matches(' ').len());
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            used = indent;
        } else {
            out.push_str(gap);
            used += gap.len();
        }
        out.push_str(word);
        used += size;
    }
    if line.ends_with('\n') {
        out.push('\n');
    }
    out
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
            ("1 = on and on   2 = off", "1 = on\n    and on\n2 = off"),
        ] {
            assert_eq!(wrapped_line(line, 10), broken);
        }
    }
}
