//! The room that words take: no font is known here, so it is reckoned.

/// About how wide words are: fonts differ, so the widest common ones are reckoned with.
pub(in crate::render) fn width_of(text: &str, size: f64, bold: bool) -> f64 {
    let ems: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' | ' ' | '(' | ')' | 'f' | 't'
            | '-' => 0.38,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
            'A'..='Z' => 0.72,
            '\u{0}'..='\u{2ff}' => 0.635,
            // Letters of other scripts, and what fills a square.
            '\u{300}'..='\u{10ff}' => 0.8,
            _ => 1.05,
        })
        .sum();
    ems * size * if bold { 1.12 } else { 1.0 }
}

/// `text` in lines of at most `width`, broken between words; a word that is too long by itself is broken anywhere.
pub(in crate::render) fn wrapped(text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut tried = line.clone();
        if !tried.is_empty() {
            tried.push(' ');
        }
        tried.push_str(word);
        if width_of(&tried, size, bold) <= width {
            line = tried;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if width_of(&line, size, bold) > width && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// At most so many characters, so that nothing runs over what stands beside it.
pub(in crate::render) fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut cut: String = text.chars().take(most.saturating_sub(1)).collect();
    cut.push('\u{2026}');
    cut
}
