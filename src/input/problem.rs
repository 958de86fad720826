//! A fault in the household's files: where it is, what is written there, what was expected, what to do.
//!
//! Holds the catalogue of kinds and the place arithmetic; rendering is [`super::render`]'s, finding faults everybody else's.

use super::text::Source;
use std::ops::Range;

macro_rules! kinds {
    ($( $name:ident = $code:literal, $about:literal; )+) => {
        /// Kinds of problems, each with a short code that stays the same from version to version.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind { $( #[doc = $about] $name, )+ }

        impl Kind {
            /// Every kind, in the order of the catalogue.
            pub const ALL: &'static [Self] = &[ $( Self::$name, )+ ];
            /// Returns the code shown in brackets.
            #[must_use]
            pub const fn code(self) -> &'static str { match self { $( Self::$name => $code, )+ } }
            /// Returns what the kind means, in one sentence.
            #[must_use]
            pub const fn about(self) -> &'static str { match self { $( Self::$name => $about, )+ } }
        }
    };
}

kinds! {
    MissingFile = "missing-file", "A file that every garden needs is not there.";
    UnreadableFile = "unreadable-file", "A file is there and cannot be read.";
    Unwritable = "unwritable", "A file cannot be written, or changed while it was being worked on.";
    MisnamedFile = "misnamed-file", "A file has nearly, but not quite, the name of a garden file.";
    NotAWorkbook = "not-a-workbook", "A file is named like a workbook and cannot be opened as one.";
    SheetTooLarge = "sheet-too-large", "A workbook is larger than any garden's tables.";
    MisnamedSheet = "misnamed-sheet", "A sheet of a workbook does not have the name of its table.";
    KeptTwice = "kept-twice", "One table is kept in two files.";
    NotText = "not-text", "A file is a workbook, a picture or a page, not plain text.";
    UnreadableCharacter = "unreadable-character", "A character was lost when the file was saved.";
    ControlCharacter = "control-character", "The text holds a character that cannot be seen.";
    OpenQuote = "open-quote", "A quoted cell is never closed.";
    NoHeader = "no-header", "The first line does not name the columns.";
    UnknownColumn = "unknown-column", "A column has a name that is not known.";
    RepeatedColumn = "repeated-column", "Two columns have the same name.";
    UnnamedColumn = "unnamed-column", "A column holds something and has no name.";
    MissingColumn = "missing-column", "A column that is needed is not there.";
    TooManyCells = "too-many-cells", "A row has more cells than the header.";
    RepeatedHeader = "repeated-header", "The header line stands among the rows.";
    RepeatedRow = "repeated-row", "The same rows stand in the file twice.";
    TotalRow = "total-row", "A line of sums stands among the rows.";
    MissingCell = "missing-cell", "A cell that is needed is empty.";
    NotANumber = "not-a-number", "A cell should be a number and is not.";
    DecimalComma = "decimal-comma", "A number is written with a comma.";
    UnitInNumber = "unit-in-number", "A unit is typed into a column of bare numbers.";
    PercentInNumber = "percent-in-number", "A share is written in percent.";
    NotFinite = "not-finite", "A number is infinite or no number at all.";
    OutOfRange = "out-of-range", "A number is less or greater than can be meant.";
    Negative = "negative", "An amount is below zero.";
    SpreadsheetDate = "spreadsheet-date", "A spreadsheet made a date of a number, or a number of a date.";
    SpreadsheetError = "spreadsheet-error", "A spreadsheet wrote an error, a formula or number signs instead of the value.";
    NotADate = "not-a-date", "A cell should be a date and is not.";
    ImpossibleDate = "impossible-date", "There is no such day.";
    AmbiguousDate = "ambiguous-date", "A date can be read as day and month or as month and day.";
    MixedDates = "mixed-dates", "Dates of one file are written in two orders.";
    AbsurdYear = "absurd-year", "A date lies far outside the years a garden record covers.";
    NotAWord = "not-a-word", "A cell should hold one of a few words.";
    UnknownCrop = "unknown-crop", "A crop is not in the crop table.";
    UnknownBed = "unknown-bed", "A bed is not in beds.csv.";
    UnknownProduct = "unknown-product", "A product is not in the product table.";
    UnknownMethod = "unknown-method", "A method is not in the method table.";
    UnknownFood = "unknown-food", "A need names neither a crop nor a food group.";
    UnknownPlanting = "unknown-planting", "A planting is not in plantings.csv.";
    UnknownUnit = "unknown-unit", "An amount has a unit whose weight is not known.";
    BadAmount = "bad-amount", "An amount with a unit cannot be read.";
    NoSize = "no-size", "A planting or a bed does not say how big it is.";
    TwoSizes = "two-sizes", "One thing is measured twice.";
    NoStart = "no-start", "A planting has neither a sowing nor a setting-out date.";
    WrongOrder = "wrong-order", "Two dates stand in an order that cannot be.";
    RepeatedName = "repeated-name", "Two things have the same name.";
    TooBig = "too-big", "A planting is bigger than its bed.";
    NoPlanting = "no-planting", "A picking fits no planting.";
    BadList = "bad-list", "A list in a cell cannot be read.";
    BadShares = "bad-shares", "Shares do not add up.";
    Refused = "refused", "Preserving it so is unsafe or has no tested source.";
    SafetyFixed = "safety-fixed", "A household's table tries to change what safety rests on.";
    TomlSyntax = "toml-syntax", "garden.toml is not well formed.";
    UnknownKey = "unknown-key", "garden.toml has a table or key that is not known.";
    MissingKey = "missing-key", "garden.toml lacks a key that is needed.";
    WrongType = "wrong-type", "A key of garden.toml has the wrong kind of value.";
    Breach = "breach", "A plan of processing days asks for what cannot be.";
    BadWeather = "bad-weather", "A weather file cannot be understood.";
}

/// One fault with its place and its cure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Kind, for counting and for looking up.
    pub kind: Kind,
    /// File, relative to the garden's folder.
    pub file: String,
    /// Line, counted from 1 as an editor counts; none when the fault is not in a line.
    pub line: Option<usize>,
    /// Column or key.
    pub column: Option<String>,
    /// The line as written, without its end.
    pub text: String,
    /// The offending part of `text`, in bytes.
    pub span: Range<usize>,
    /// The offending value as written.
    pub value: String,
    /// What is wrong, in one sentence.
    pub message: String,
    /// What was expected, as a phrase; empty when the message says it all.
    pub expected: String,
    /// What to do, where a remedy is known.
    pub hint: Option<String>,
}

impl Problem {
    /// Makes a problem with a whole file.
    #[must_use]
    pub fn of_file(kind: Kind, file: &str, message: impl Into<String>) -> Self {
        Self {
            kind,
            file: file.to_owned(),
            line: None,
            column: None,
            text: String::new(),
            span: 0..0,
            value: String::new(),
            message: message.into(),
            expected: String::new(),
            hint: None,
        }
    }

    /// Makes a problem at a stretch of a file's text, clipped to the first line it touches.
    #[must_use]
    pub fn at(kind: Kind, source: &Source, span: Range<usize>, message: impl Into<String>) -> Self {
        let (line, start, text) = source.line_at(span.start);
        let from = span.start.saturating_sub(start).min(text.len());
        let until = span.end.saturating_sub(start).clamp(from, text.len());
        Self {
            line: Some(line),
            text: text.to_owned(),
            span: from..until,
            value: source.text.get(span).unwrap_or_default().to_owned(),
            ..Self::of_file(kind, &source.name, message)
        }
    }

    /// Adds the column or key.
    #[must_use]
    pub fn column(mut self, column: &str) -> Self {
        self.column = Some(column.to_owned());
        self
    }
    /// Adds what was expected.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }
    /// Adds a remedy.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
    /// Adds a remedy if one is known.
    #[must_use]
    pub fn maybe_hint(mut self, hint: Option<String>) -> Self {
        if hint.is_some() {
            self.hint = hint;
        }
        self
    }
}

/// What reading found besides the values: problems, warnings and defaults used.
#[derive(Debug, Clone, Default)]
pub(crate) struct Findings {
    /// Faults that stop the garden from loading.
    pub(crate) problems: Vec<Problem>,
    /// Faults that do not.
    pub(crate) warnings: Vec<String>,
    /// Defaults used because nothing was given.
    pub(crate) assumed: Vec<String>,
}

impl Findings {
    /// Records a problem and returns the token for "already told".
    pub(crate) fn tell(&mut self, problem: Problem) -> Told {
        self.problems.push(problem);
        Told
    }
    /// Takes over what was found elsewhere.
    pub(crate) fn add(&mut self, more: Self) {
        self.problems.extend(more.problems);
        more.warnings.into_iter().for_each(|text| self.warn(text));
        more.assumed.into_iter().for_each(|text| self.assume(text));
    }
    /// Records a warning once.
    pub(crate) fn warn(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.warnings.contains(&text) {
            self.warnings.push(text);
        }
    }
    /// Records a default once.
    pub(crate) fn assume(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.assumed.contains(&text) {
            self.assumed.push(text);
        }
    }
}

/// Stands for a value that could not be read and whose problem has been told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Told;

/// A value that may be absent, or unreadable and told.
pub(crate) type Read<T> = Result<Option<T>, Told>;

/// What a parser of one cell says when it cannot read it; the cell adds the place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Kind.
    pub(crate) kind: Kind,
    /// What is wrong.
    pub(crate) message: String,
    /// What to do.
    pub(crate) hint: Option<String>,
    /// What to write instead, where only one thing can be meant.
    pub(crate) repair: Option<String>,
}

impl Fault {
    /// Makes a fault without a remedy.
    pub(crate) fn new(kind: Kind, message: impl Into<String>) -> Self {
        Self {
            kind,
            message: message.into(),
            hint: None,
            repair: None,
        }
    }
    /// Adds what to write instead, since nothing else can be meant.
    pub(crate) fn mend(mut self, repair: String) -> Self {
        self.hint = Some(format!("write {repair}"));
        self.repair = Some(repair);
        self
    }
    /// Adds a remedy.
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_plain() {
        let mut codes: Vec<_> = Kind::ALL.iter().map(|k| k.code()).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), Kind::ALL.len());
        for kind in Kind::ALL {
            assert!(
                kind.code()
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c == '-')
            );
            assert!(kind.about().ends_with('.'));
        }
    }

    #[test]
    fn a_place_is_clipped_to_its_first_line() {
        let source = Source::from_text("beds.csv", "bed,note\nA,\"two\nlines\"\n");
        let p = Problem::at(Kind::NotAWord, &source, 11..22, "x");
        assert_eq!(
            (p.line, p.text.as_str(), p.span),
            (Some(2), "A,\"two", 2..6)
        );
    }
}
