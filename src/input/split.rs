//! Splits a file's text into records of cells, each knowing where in the text it stands.
//!
//! Knows the quoting rules of RFC 4180 and nothing of headers or meanings; lenient where people and spreadsheets are.

use super::text::{LARGE, any_part};
use memchr::{memchr, memchr_iter};
use rayon::prelude::*;
use std::borrow::Cow;
use std::ops::Range;

/// Where one record stands: its bytes in the text and its cells in the list of cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Record {
    /// Bytes of the record in the text, without its line end.
    pub(crate) span: Range<usize>,
    /// Indices into [`Split::cells`].
    pub(crate) cells: Range<usize>,
}

/// A text split into records.
#[derive(Debug, Default)]
pub(crate) struct Split {
    /// Records that are neither blank nor comments.
    pub(crate) records: Vec<Record>,
    /// Bytes of every cell in the text, quotes included.
    pub(crate) cells: Vec<Range<usize>>,
}

/// A text split into records of which each is split into cells when it is asked for: long files hold many millions of cells.
#[derive(Debug)]
pub(crate) struct Lines {
    /// Start and end in the text of every record that is neither blank nor a comment, without its line end.
    records: Vec<[usize; 2]>,
    /// Where a quote was opened and never closed, if one was.
    pub(crate) open_quote: Option<usize>,
    separator: u8,
    /// Whether there is any quote.
    quoted: bool,
}

impl Lines {
    /// Splits the text from an offset on. Blank lines and lines that begin with `# ` or `##` are left out.
    pub(crate) fn of(text: &str, from: usize, separator: u8) -> Self {
        let bytes = text.as_bytes();
        let mut lines = Self {
            records: Vec::new(),
            open_quote: None,
            separator,
            quoted: any_part(bytes, |part| memchr(b'"', part).is_some()),
        };
        if !lines.quoted {
            lines.records = bare_records(bytes, from);
            return lines;
        }
        let mut at = from;
        let next_quote = |at| memchr(b'"', &bytes[at..]).map_or(bytes.len(), |n| at + n);
        let mut quote = next_quote(at);
        while at < bytes.len() {
            let line_end = line_end(bytes, at);
            if quote < at {
                quote = next_quote(at);
            }
            let end = if is_left_out(&bytes[at..line_end]) {
                line_end
            } else {
                let end = if quote < line_end {
                    lines.record_end(bytes, at)
                } else {
                    line_end
                };
                lines.records.push([at, end]);
                end
            };
            // A record ends before its line's end, whose line feed is passed over here.
            at = end + usize::from(bytes.get(end) == Some(&b'\n'));
        }
        lines
    }

    /// Finds where a record with a quote in it ends.
    fn record_end(&mut self, bytes: &[u8], from: usize) -> usize {
        let mut at = from;
        loop {
            at = cell_end(bytes, at, self.separator, &mut self.open_quote);
            if bytes.get(at) != Some(&self.separator) {
                return at;
            }
            at += 1;
        }
    }

    /// Counts the records.
    pub(crate) const fn len(&self) -> usize {
        self.records.len()
    }

    /// Returns the bytes of a record in the text.
    pub(crate) fn record(&self, record: usize) -> Range<usize> {
        let [start, end] = self.records[record];
        start..end
    }

    /// Returns start and end in the text of every record from one on.
    pub(crate) fn records_from(&self, first: usize) -> &[[usize; 2]] {
        &self.records[first..]
    }

    /// Returns the bytes of the cells of a record in the text, quotes included.
    pub(crate) fn cells<'t>(&self, text: &'t str, record: usize) -> Cells<'t> {
        let record = self.record(record);
        Cells {
            bytes: &text.as_bytes()[..record.end],
            next: Some(record.start),
            separator: self.separator,
            open_quote: self.open_quote.filter(|_| self.quoted),
        }
    }

    /// Counts the cells of a record.
    pub(crate) fn width(&self, text: &str, record: usize) -> usize {
        let bytes = &text.as_bytes()[self.record(record)];
        if self.quoted && bytes.contains(&b'"') {
            self.cells(text, record).count()
        } else {
            1 + bytes.iter().filter(|b| **b == self.separator).count()
        }
    }
}

/// The cells of one record, one after the other.
#[derive(Debug, Clone)]
pub(crate) struct Cells<'t> {
    /// The text up to the end of the record.
    bytes: &'t [u8],
    next: Option<usize>,
    separator: u8,
    open_quote: Option<usize>,
}

impl Iterator for Cells<'_> {
    type Item = Range<usize>;

    fn next(&mut self) -> Option<Range<usize>> {
        let from = self.next?;
        // From a quote that is never closed on, quotes are ordinary characters.
        let mut open = self.open_quote.filter(|open| *open <= from);
        let end = cell_end(self.bytes, from, self.separator, &mut open);
        self.next = (end < self.bytes.len()).then_some(end + 1);
        Some(from..end)
    }
}

/// Splits the text from an offset on, cells and all.
pub(crate) fn split(text: &str, from: usize, separator: u8) -> Split {
    let lines = Lines::of(text, from, separator);
    let mut out = Split::default();
    for record in 0..lines.len() {
        let first = out.cells.len();
        out.cells.extend(lines.cells(text, record));
        out.records.push(Record {
            span: lines.record(record),
            cells: first..out.cells.len(),
        });
    }
    out
}

/// Marks each of eight bytes that is a certain one with its highest bit.
#[inline]
pub(crate) const fn marked(word: u64, byte: u8) -> u64 {
    const ONES: u64 = u64::MAX / 0xff;
    const LOW: u64 = ONES * 0x7f;
    let unlike = word ^ (ONES * byte as u64);
    !(((unlike & LOW) + LOW) | unlike | LOW)
}

/// Brings the marks of eight bytes together in the lowest one, that of the first byte in its lowest bit.
#[inline]
pub(crate) const fn gathered(marks: u64) -> u64 {
    (marks >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56
}

/// Takes start and end of every line of a part that is not left out.
fn each_line(bytes: &[u8], part: Range<usize>, mut take: impl FnMut([usize; 2])) {
    let mut at = part.start;
    let mut ends = |end: usize| {
        if !is_left_out(&bytes[at..end]) {
            take([at, end]);
        }
        at = end + 1;
    };
    // Lines are short: their ends are looked for in whole blocks and not one by one.
    let (blocks, rest) = bytes[part.clone()].as_chunks::<64>();
    for (i, block) in blocks.iter().enumerate() {
        let mut feeds = 0_u64;
        for (k, word) in block.as_chunks::<8>().0.iter().enumerate() {
            feeds |= gathered(marked(u64::from_le_bytes(*word), b'\n')) << (8 * k);
        }
        while feeds != 0 {
            ends(part.start + 64 * i + feeds.trailing_zeros() as usize);
            feeds &= feeds - 1;
        }
    }
    let rest_at = part.end - rest.len();
    memchr_iter(b'\n', rest).for_each(|n| ends(rest_at + n));
    ends(part.end);
}

/// Splits bytes without quotes, of which every line is a record; many of them on all threads.
fn bare_records(bytes: &[u8], from: usize) -> Vec<[usize; 2]> {
    if bytes.len() < LARGE {
        let mut records = Vec::new();
        each_line(bytes, from..bytes.len(), |line| records.push(line));
        return records;
    }
    let mut parts = Vec::new();
    let mut at = from;
    while at < bytes.len() {
        let end = line_end(bytes, bytes.len().min(at + LARGE));
        parts.push(at..end);
        at = end + 1;
    }
    // Every part has its own stretch of the list, which is as long as if none of its lines were left out.
    let lines = |part: &Range<usize>| memchr_iter(b'\n', &bytes[part.clone()]).count() + 1;
    let lines: Vec<usize> = parts.par_iter().map(lines).collect();
    let mut records = vec![[0; 2]; lines.iter().sum()];
    let mut rest = records.as_mut_slice();
    let mut stretches = Vec::with_capacity(parts.len());
    for lines in &lines {
        let (stretch, more) = rest.split_at_mut(*lines);
        stretches.push(stretch);
        rest = more;
    }
    let split = |(part, stretch): (&Range<usize>, &mut [[usize; 2]])| {
        let mut taken = 0;
        each_line(bytes, part.clone(), |line| {
            stretch[taken] = line;
            taken += 1;
        });
        taken
    };
    let taken = parts.par_iter().zip(stretches).map(split);
    let taken: Vec<usize> = taken.collect();
    let (mut start, mut len) = (0, 0);
    for (lines, taken) in lines.iter().zip(taken) {
        if len < start {
            records.copy_within(start..start + taken, len);
        }
        start += lines;
        len += taken;
    }
    records.truncate(len);
    records
}

/// Finds the line feed from a place on, else the end of the text.
fn line_end(bytes: &[u8], from: usize) -> usize {
    memchr(b'\n', &bytes[from..]).map_or(bytes.len(), |n| from + n)
}

/// Says whether a line is empty or a comment.
fn is_left_out(line: &[u8]) -> bool {
    match line.first() {
        Some(b'#') => is_comment(line),
        first => first.is_none(),
    }
}

/// A name such as `#3` may begin a row, so a comment needs a blank, a second sign or nothing after its sign.
fn is_comment(line: &[u8]) -> bool {
    matches!(line, [b'#'] | [b'#', b' ' | b'#' | b'\t', ..])
}

/// Finds where a cell ends: at the separator, the line end or the end of the text.
///
/// A quote that is never closed is noted and then read as an ordinary character, so that the rest of the file stays readable.
fn cell_end(bytes: &[u8], from: usize, separator: u8, open_quote: &mut Option<usize>) -> usize {
    let mut at = from;
    if bytes.get(at) == Some(&b'"') && open_quote.is_none() {
        match closing_quote(bytes, at + 1) {
            Some(close) => at = close + 1,
            None => *open_quote = Some(from),
        }
    }
    let rest = bytes[at..].iter();
    at + rest
        .take_while(|b| **b != separator && **b != b'\n')
        .count()
}

fn closing_quote(bytes: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    while at < bytes.len() {
        if bytes[at] == b'"' {
            if bytes.get(at + 1) != Some(&b'"') {
                return Some(at);
            }
            at += 1;
        }
        at += 1;
    }
    None
}

/// Returns a cell's content without its quotes.
pub(crate) fn content(raw: &str) -> Cow<'_, str> {
    let Some(inner) = raw.strip_prefix('"') else {
        return Cow::Borrowed(raw);
    };
    match closing_quote(inner.as_bytes(), 0) {
        Some(close) => {
            let (quoted, rest) = inner.split_at(close);
            let rest = &rest[1..];
            if rest.is_empty() && !quoted.contains('"') {
                Cow::Borrowed(quoted)
            } else {
                Cow::Owned(quoted.replace("\"\"", "\"") + rest)
            }
        }
        None => Cow::Borrowed(inner),
    }
}

/// Finds where the header begins and what separates cells; a leading `sep=;` line of a spreadsheet is taken at its word.
pub(crate) fn start(text: &str) -> (usize, u8) {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim();
        let lower = bare.trim_matches('"').to_ascii_lowercase();
        if let Some(&separator) = lower
            .strip_prefix("sep=")
            .and_then(|s| s.as_bytes().first())
        {
            return (at + line.len(), separator);
        }
        if line.trim() == "sep=" {
            return (at + line.len(), b'\t');
        }
        if !bare.is_empty() && !bare.starts_with('#') {
            return (at, guess_separator(line));
        }
        at += line.len();
    }
    (0, b',')
}

/// Counts how often each separator stands outside quotes in the first line that is neither blank nor a comment, and returns
/// the most frequent; a comma if none occurs.
pub(crate) fn guess_separator(line: &str) -> u8 {
    let count = |separator: char| {
        let mut quoted = false;
        line.chars()
            .filter(|c| {
                if *c == '"' {
                    quoted = !quoted;
                }
                !quoted && *c == separator
            })
            .count()
    };
    let (commas, semicolons, tabs) = (count(','), count(';'), count('\t'));
    if tabs > commas && tabs >= semicolons {
        b'\t'
    } else if semicolons > commas {
        b';'
    } else {
        b','
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::text::Source;
    use super::*;
    use proptest::prelude::*;

    fn contents(text: &str, separator: u8) -> Vec<Vec<String>> {
        let split = split(text, 0, separator);
        split
            .records
            .iter()
            .map(|r| {
                split.cells[r.cells.clone()]
                    .iter()
                    .map(|c| content(&text[c.clone()]).into_owned())
                    .collect()
            })
            .collect()
    }

    /// The same text read by the `csv` crate.
    fn by_crate(text: &str, separator: u8) -> Vec<Vec<String>> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            .from_reader(text.as_bytes())
            .records()
            .map(|r| r.unwrap().iter().map(str::to_owned).collect())
            .collect()
    }

    /// True lines where the usual reader counts wrongly: after comments, blank lines and with CRLF.
    #[test]
    fn lines_are_the_true_ones() {
        for (name, text, line) in [
            ("plain", "h\na,1\nb,BAD\n", 3),
            ("quoted over two lines", "h\n\"x\ny\",1\nb,BAD\n", 4),
            ("two comments before", "# a\n# b\nh\na\nb,BAD\n", 5),
            ("two blank lines before", "\n\nh\na\nb,BAD\n", 5),
            ("crlf", "h\r\na,1\r\nb,BAD\r\n", 3),
            ("longer crlf", "h\r\na\r\nc\r\nd\r\ne\r\nb,BAD\r\n", 6),
            (
                "crlf, blank and comment",
                "\r\n# c\r\nh\r\na\r\nb,BAD\r\n",
                5,
            ),
            ("comment after header", "h\n# c\na\n\nc\nb,BAD\n", 6),
            ("mark and comment", "# c\nh\nb,BAD\n", 3),
            ("old line ends", "h\ra\rb,BAD\r", 3),
        ] {
            let source = Source::from_text("x.csv", text);
            let split = split(&source.text, 0, b',');
            let bad = split
                .cells
                .iter()
                .find(|c| &source.text[(*c).clone()] == "BAD")
                .unwrap();
            assert_eq!(source.line_at(bad.start).0, line, "{name}");
        }
    }

    #[test]
    fn an_open_quote_costs_only_its_own_cell() {
        let text = "bed,note\nA,\"never closed\nB,fine\n";
        let s = split(text, 0, b',');
        assert_eq!(Lines::of(text, 0, b',').open_quote, Some(11));
        assert_eq!(s.records.len(), 3);
    }

    #[test]
    fn hash_names_are_no_comments() {
        assert_eq!(contents("#3,x\n# c\n## d\n#\n", b',').len(), 1);
    }

    #[test]
    fn separators_are_told_from_the_header() {
        for (line, want) in [
            ("bed,crop", b','),
            ("bed;crop;note", b';'),
            ("bed\tcrop", b'\t'),
            ("\"a;b;c\",crop", b','),
            ("bed", b','),
        ] {
            assert_eq!(guess_separator(line), want, "{line}");
        }
    }

    proptest! {
        /// The `csv` crate 1.4 is the yardstick for cells: well-quoted text splits alike.
        #[test]
        fn cells_are_those_of_the_csv_crate(
            rows in prop::collection::vec(prop::collection::vec("[a-z ,;\"\n]{0,6}", 1..5), 0..8),
            separator in prop::sample::select(vec![b',', b';', b'\t']),
        ) {
            let mut writer = csv::WriterBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(separator)
                .quote_style(csv::QuoteStyle::Always)
                .from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            prop_assert_eq!(contents(&text, separator), by_crate(&text, separator));
        }

        /// And so does text without quotes.
        #[test]
        fn bare_cells_are_those_of_the_csv_crate(text in "[a-c,\n]{0,40}") {
            prop_assert_eq!(contents(&text, b','), by_crate(&text, b','));
        }

        /// Whatever the text, every cell lies in it, in order, and nothing panics.
        #[test]
        fn any_text_splits(text in "[a,\"\n;é#\t ]{0,60}") {
            let s = split(&text, 0, b',');
            let mut last = 0;
            for c in &s.cells {
                prop_assert!(c.start >= last && text.get(c.clone()).is_some());
                let _ = content(&text[c.clone()]);
                last = c.end;
            }
        }
    }
}
