//! A line as nearly all are written: one object in which nothing is escaped, given twice or unknown. Everything else is left to the
//! reader of JSON, which says what is wrong with it; what is read here, it reads the same.

use std::ops::Range;

/// Where the parts of a line stand in it; room that is used for line after line.
#[derive(Default)]
pub(super) struct Plain {
    pub(super) id: Option<Range<usize>>,
    pub(super) spec: Option<Range<usize>>,
    pub(super) turned: Option<Range<usize>>,
    /// Each mark by its name and what was seen of it, without the quotation marks.
    pub(super) links: Vec<[Range<usize>; 2]>,
    pub(super) dots: Vec<[Range<usize>; 2]>,
}

impl Plain {
    /// Finds the parts of `line`. `false` where it is written in any other way, or is no line at all.
    pub(super) fn read(&mut self, line: &str) -> bool {
        self.parts(line).is_some()
    }

    fn parts(&mut self, line: &str) -> Option<()> {
        (self.id, self.spec, self.turned) = (None, None, None);
        self.links.clear();
        self.dots.clear();
        let (mut links, mut dots) = (false, false);
        let mut scan = Scan {
            bytes: line.as_bytes(),
            at: 0,
        };
        let mut first = true;
        scan.take(b'{')?;
        while let Some(key) = scan.key(&mut first)? {
            match &scan.bytes[key] {
                b"id" if self.id.is_none() => self.id = Some(scan.text_or_number()?),
                b"turned" if self.turned.is_none() => self.turned = Some(scan.text_or_number()?),
                b"spec" if self.spec.is_none() => self.spec = Some(scan.text()?),
                b"links" if !links => {
                    links = true;
                    scan.pairs(&mut self.links)?;
                }
                b"dots" if !dots => {
                    dots = true;
                    scan.pairs(&mut self.dots)?;
                }
                _ => return None,
            }
        }
        scan.space();
        (scan.at == scan.bytes.len()).then_some(())
    }
}

/// JSON from `at` on (RFC 8259). `None` wherever it is not as plain as is looked for.
struct Scan<'l> {
    bytes: &'l [u8],
    at: usize,
}

impl Scan<'_> {
    fn next(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn space(&mut self) {
        while let Some(b' ' | b'\t' | b'\r' | b'\n') = self.next() {
            self.at += 1;
        }
    }

    /// Goes past this byte, and the spaces before it.
    fn take(&mut self, byte: u8) -> Option<()> {
        self.space();
        (self.next()? == byte).then(|| self.at += 1)
    }

    /// Goes to the value of the next key of an object; the inner `None` is the object's end.
    fn key(&mut self, first: &mut bool) -> Option<Option<Range<usize>>> {
        self.space();
        if self.next()? == b'}' {
            self.at += 1;
            return Some(None);
        }
        if !std::mem::take(first) {
            self.take(b',')?;
        }
        let key = self.text()?;
        self.take(b':')?;
        Some(Some(key))
    }

    /// A text without anything escaped in it: what stands between the quotation marks.
    fn text(&mut self) -> Option<Range<usize>> {
        self.take(b'"')?;
        let start = self.at;
        let mut end = start;
        loop {
            let rest = self.bytes.get(end..)?;
            match rest.first_chunk().map(|eight| end_within(*eight)) {
                Some(Some(place)) => {
                    end += place;
                    break;
                }
                Some(None) => end += 8,
                None => {
                    let ends = |byte: &u8| matches!(byte, b'"' | b'\\' | ..0x20);
                    end += rest.iter().position(ends)?;
                    break;
                }
            }
        }
        self.at = end + 1;
        (self.bytes[end] == b'"').then_some(start..end)
    }

    /// A text, with its quotation marks, or a number.
    fn text_or_number(&mut self) -> Option<Range<usize>> {
        self.space();
        if self.next()? == b'"' {
            let within = self.text()?;
            Some(within.start - 1..within.end + 1)
        } else {
            self.number()
        }
    }

    fn number(&mut self) -> Option<Range<usize>> {
        let start = self.at;
        if self.next() == Some(b'-') {
            self.at += 1;
        }
        // No zero before other digits.
        if self.next()? == b'0' {
            self.at += 1;
        } else {
            self.digits()?;
        }
        if self.next() == Some(b'.') {
            self.at += 1;
            self.digits()?;
        }
        if let Some(b'e' | b'E') = self.next() {
            self.at += 1;
            if let Some(b'+' | b'-') = self.next() {
                self.at += 1;
            }
            self.digits()?;
        }
        Some(start..self.at)
    }

    /// One digit or more.
    fn digits(&mut self) -> Option<()> {
        let start = self.at;
        while let Some(b'0'..=b'9') = self.next() {
            self.at += 1;
        }
        (self.at > start).then_some(())
    }

    /// An object of texts.
    fn pairs(&mut self, into: &mut Vec<[Range<usize>; 2]>) -> Option<()> {
        let mut first = true;
        self.take(b'{')?;
        while let Some(name) = self.key(&mut first)? {
            into.push([name, self.text()?]);
        }
        Some(())
    }
}

/// The place of the first quotation mark, backslash or control character among these. Eight at once: a byte is below a limit if taking
/// that from it carries into its highest bit, which it had not before; what is said of the bytes above the first such one may be wrong
/// (as in Warren, Hacker's Delight, 6-1).
fn end_within(eight: [u8; 8]) -> Option<usize> {
    const ONES: u64 = u64::from_le_bytes([1; 8]);
    const HIGH: u64 = u64::from_le_bytes([0x80; 8]);
    // The first byte is the lowest.
    let eight = u64::from_le_bytes(eight);
    let below = |n: u64, limit: u64| n.wrapping_sub(ONES * limit) & !n & HIGH;
    let is = |byte: u8| below(eight ^ (ONES * u64::from(byte)), 1);
    let ends = is(b'"') | is(b'\\') | below(eight, 0x20);
    (ends != 0).then(|| ends.trailing_zeros() as usize / 8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_end_of_a_text_is_found_among_any_eight_bytes() {
        for byte in 0..=u8::MAX {
            for (place, after) in (0..8).flat_map(|place| (0..8).map(move |after| (place, after))) {
                for other in [b' ', b'a', b'#', b'!', b']', 0x7f, 0x80, 0xff] {
                    let mut eight = [other; 8];
                    eight[after] = b'"';
                    eight[place] = byte;
                    let ends = |byte: &u8| matches!(byte, b'"' | b'\\' | ..0x20);
                    assert_eq!(end_within(eight), eight.iter().position(ends), "{eight:?}");
                }
            }
        }
    }
}
