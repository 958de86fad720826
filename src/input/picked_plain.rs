//! The quick lane of the yield log: rows with nothing odd about them.
//!
//! A plain row is read in one go over its bytes, and what its few spellings mean is remembered from row to row; any other row,
//! and every row that there is something to tell about, is left to [`super::picked`], which alone knows what to tell. The lane
//! asks the same finders of names, units and plantings, so that it can only be quicker, never of another mind.

use super::amounts::unit_mass;
use super::cells::{word_of, yes_of};
use super::dates;
use super::givers::{Day, Givers};
use super::header::begins_sums;
use super::picked::{AMOUNT, SPEC};
use super::record::Context;
use super::repeated::{NO_PRINT, fingerprint, trimmed};
use super::rows::{MANY, Sheet};
use super::spellings::{Cell, Spellings};
use super::split::{gathered, marked};
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::record::{Picked, Use};
use crate::garden::units::Mass;
use chrono::NaiveDate;
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// What the lane read.
pub(super) struct Plain {
    /// A picking for each record after the header; that of [`left`] for those that are left.
    pub(super) pickings: Vec<Picked>,
    /// Fingerprints of the records that were read, [`NO_PRINT`] for those that are left.
    pub(super) prints: Vec<u64>,
    /// Crops that were picked where no planting gives them.
    pub(super) strangers: Vec<CropId>,
}

impl Plain {
    /// Leaves every row.
    pub(super) fn none(sheet: &Sheet<'_>) -> Self {
        Self {
            pickings: vec![left(); sheet.records().len()],
            prints: Vec::new(),
            strangers: Vec::new(),
        }
    }
}

/// Stands in the place of a picking that the lane has left.
pub(super) const fn left() -> Picked {
    Picked {
        date: NaiveDate::MIN,
        whole_week: false,
        bed: None,
        crop: CropId(usize::MAX),
        planting: None,
        mass: Mass::from_kg(0.0),
        guess: false,
        went: Use::Waiting,
        note: None,
    }
}

/// Rows that are worth a new memory.
const STRETCH: usize = 16_384;

/// Reads the plain rows of a log, those of a long one on all threads.
pub(super) fn read(sheet: &Sheet<'_>, context: Context<'_>, givers: &Givers) -> Plain {
    let (columns, separator) = sheet.columns();
    if ![b',', b';', b'\t'].contains(&separator) {
        return Plain::none(sheet);
    }
    let place = |column: &Option<&str>| {
        let known = column.and_then(|c| SPEC.columns.iter().position(|known| *known == c));
        known.unwrap_or(UNREAD)
    };
    let lane = Lane {
        context,
        givers,
        separator,
        places: columns.iter().map(place).collect(),
        strangers: context.crops.iter().map(|_| false.into()).collect(),
    };
    let text: &str = &sheet.source().text;
    let records = sheet.records();
    let (mut pickings, mut prints) = (Vec::new(), Vec::new());
    if records.len() < MANY {
        let mut memory = Memory::new();
        let rows = records.iter().map(|r| lane.row(text, *r, &mut memory));
        (pickings, prints) = rows.unzip();
    } else {
        records
            .par_iter()
            .with_min_len(STRETCH)
            .map_init(Memory::new, |memory, r| lane.row(text, *r, memory))
            .unzip_into_vecs(&mut pickings, &mut prints);
    }
    let strange = lane.strangers.iter().map(|s| s.load(Ordering::Relaxed));
    let strangers = strange.enumerate().filter(|(_, strange)| *strange);
    Plain {
        pickings,
        prints,
        strangers: strangers.map(|(crop, _)| CropId(crop)).collect(),
    }
}

/// Start and end of the cells of one row: those of the columns of [`SPEC`] in their order, then the last one of a column that is
/// not read.
type Cells = [[usize; 2]; SPEC.columns.len() + 1];

/// The place of the columns that are not read.
const UNREAD: usize = SPEC.columns.len();

/// What rows are read against.
struct Lane<'c> {
    context: Context<'c>,
    givers: &'c Givers,
    separator: u8,
    /// For each cell of the header its place.
    places: Vec<usize>,
    /// For each crop whether it was picked where no planting gives it.
    strangers: Vec<AtomicBool>,
}

impl Lane<'_> {
    /// Reads a record: its picking and its fingerprint, or what says that it is left.
    fn row<'t>(
        &self,
        text: &'t str,
        [start, end]: [usize; 2],
        memory: &mut Memory<'t>,
    ) -> (Picked, u64) {
        let row = trimmed(&text[start..end]);
        let cut = &text.as_bytes()[start + row.len()..end];
        // Cells end with what separates them, not with other signs that rows are compared without.
        if cut.iter().all(|b| *b == self.separator)
            && let Some(cells) = self.cells(row.as_bytes())
            && let Some(picking) = self.picking(&text.as_bytes()[start..], cells, memory)
        {
            return (picking, fingerprint(row));
        }
        (left(), NO_PRINT)
    }

    /// Reads the row at the begin of a text; none if there is anything to tell.
    #[inline]
    fn picking<'t>(&self, text: &'t [u8], cells: Cells, memory: &mut Memory<'t>) -> Option<Picked> {
        let cell = |[from, end]: [usize; 2]| Cell::of(text, from, end);
        let filled = |[from, end]: [usize; 2]| from < end;
        let [date, bed, crop, named, amount, unit, guess, went, note, _] = cells;
        let Context {
            crops,
            crop_names,
            bed_names,
            measures,
            ..
        } = self.context;
        let date = (memory.days).find(cell(date), 0, |day| dates::usual(day.as_bytes()))?;
        let crop = (memory.crops).find(cell(crop), 0, |name| crop_names.find(name))?;
        let known = (crop, crops.get(crop.0)?);
        let mass_of = |unit: &str| unit_mass(unit, Some(known), measures);
        let one = (memory.units).find(cell(unit), crop.0, mass_of)?;
        let amount = AMOUNT.check(decimal(&text[amount[0]..amount[1]])?).ok()?;
        // An empty cell means something, one that is not known leaves the row.
        let mut bed_known = None;
        if filled(bed) {
            let name = cell(bed);
            bed_known = Some((memory.beds).find(name, 0, |name| bed_names.find_exact(name))?);
        }
        let mut guessed = false;
        if filled(guess) {
            guessed = memory.guesses.find(cell(guess), 0, yes_of)?;
        }
        let mut used = Use::default();
        if filled(went) {
            used = (memory.uses).find(cell(went), 0, |word| word_of(word, &Use::NAMES))?;
        }
        let mut noted = None;
        if filled(note) {
            let note = str::from_utf8(&text[note[0]..note[1]]).ok()?;
            if dates::strip_week(note).len() < note.len() {
                return None;
            }
            noted = Some(note.to_owned());
        }
        let day = Day {
            date,
            whole_week: false,
        };
        let there = self.givers.there(crop, bed_known);
        let planting = if filled(named) {
            let named = cell(named);
            let named = (memory.plantings).find(named, crop.0, |name| self.named(name, crop));
            let (id, start) = named?;
            if day.is_before(start) {
                return None;
            }
            Some(id)
        } else {
            there.likely(day).ok()?
        };
        if there.is_strange() {
            let seen = self.strangers.get(crop.0)?;
            if !seen.load(Ordering::Relaxed) {
                seen.store(true, Ordering::Relaxed);
            }
        }
        Some(Picked {
            date,
            whole_week: false,
            bed: bed_known,
            crop,
            planting,
            mass: one * amount,
            guess: guessed,
            went: used,
            note: noted,
        })
    }

    /// Finds a planting of a crop by its name, with its start.
    fn named(&self, name: &str, crop: CropId) -> Option<(PlantingId, NaiveDate)> {
        let planted = self.context.plantings?;
        let id = planted.names.find_exact(name)?;
        let start = planted.plantings.get(id.0)?.start();
        self.givers.gives(id, crop).then_some((id, start))
    }

    /// Splits a row into its cells by column; none if it holds more than plain cells.
    #[inline]
    fn cells(&self, row: &[u8]) -> Option<Cells> {
        let mut cells = Cells::default();
        let mut places = self.places.iter();
        let mut from = 0;
        let mut put = |end: usize| {
            let blank = |at: usize| row.get(at) == Some(&b' ');
            if blank(from) || blank(end.wrapping_sub(1)) {
                return None;
            }
            cells[*places.next()?] = [from, end];
            from = end + 1;
            Some(())
        };
        for (i, block) in row.chunks(64).enumerate() {
            let (words, rest) = block.as_chunks::<8>();
            let mut ends = 0;
            for (k, word) in words.iter().enumerate() {
                ends |= self.ends(*word)? << (8 * k);
            }
            if !rest.is_empty() {
                // Filled with what is no separator, so that nothing ends behind the row.
                let mut last = [b'.'; 8];
                last[..rest.len()].copy_from_slice(rest);
                ends |= self.ends(last)? << (8 * words.len());
            }
            while ends != 0 {
                put(64 * i + ends.trailing_zeros() as usize)?;
                ends &= ends - 1;
            }
        }
        put(row.len())?;
        // Most rows begin with a date and need no look at their first word.
        let sums = || {
            let first = row.split(|b| *b == self.separator).find(|c| !c.is_empty());
            first.is_some_and(|first| str::from_utf8(first).is_ok_and(begins_sums))
        };
        (row.first()?.is_ascii_digit() || !sums()).then_some(cells)
    }

    /// Has a bit for each of eight bytes, set for separators; none if there is a quote or no printable ASCII.
    #[inline]
    fn ends(&self, bytes: [u8; 8]) -> Option<u64> {
        const ONES: u64 = u64::MAX / 0xff;
        const LOW: u64 = ONES * 0x7f;
        let word = u64::from_le_bytes(bytes);
        let low = word & LOW;
        // Bytes below 0x80 reach 0x80 when enough is added to them, and none runs over into the next.
        let from = |least: u64| low + ONES * (0x80 - least);
        let ends = marked(word, self.separator);
        let odd = word | !from(0x20) | from(0x7f) | marked(word, b'"');
        (odd & !ends & (ONES << 7) == 0).then_some(gathered(ends))
    }
}

/// Reads a decimal of figures and at most one point between them; none for any other and for very long ones.
fn decimal(cell: &[u8]) -> Option<f64> {
    // Both are whole numbers that a double holds exactly, so that their quotient is rounded once, as in any right reading.
    const TENS: [f64; 16] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
    ];
    if cell.len() > 15 {
        return None;
    }
    let (mut figures, mut places, mut pointed) = (0_u64, 0, false);
    for (i, byte) in cell.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {
                figures = figures * 10 + u64::from(byte - b'0');
                places += usize::from(pointed);
            }
            b'.' if !pointed && i > 0 && i + 1 < cell.len() => pointed = true,
            _ => return None,
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "fifteen figures at most")]
    let figures = figures as f64;
    (!cell.is_empty()).then(|| figures / TENS[places])
}

/// What the spellings of the last rows meant.
struct Memory<'t> {
    days: Spellings<'t, NaiveDate, 1>,
    crops: Spellings<'t, CropId>,
    beds: Spellings<'t, BedId>,
    plantings: Spellings<'t, (PlantingId, NaiveDate)>,
    units: Spellings<'t, Mass>,
    guesses: Spellings<'t, bool>,
    uses: Spellings<'t, Use>,
}

impl Memory<'_> {
    fn new() -> Self {
        Self {
            days: Spellings::new(),
            crops: Spellings::new(),
            beds: Spellings::new(),
            plantings: Spellings::new(),
            units: Spellings::new(),
            guesses: Spellings::new(),
            uses: Spellings::new(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::household::Measure;
    use crate::garden::{DateOrder, Show};
    use crate::input::names::Names;
    use crate::input::problem::Findings;
    use crate::input::text::decode;
    use crate::input::{base, number, picked, plantings};
    use proptest::prelude::*;

    /// Two sowings in one bed, one of them cleared, and one that is named.
    const PLANTINGS: &str = "planting,bed,crop,sown,row_ft,cleared\n\
        ,A,kale,2026-05-01,10,2026-08-01\n\
        ,A,kale,2026-06-01,10,\n\
        early,B,kale,2026-04-20,10,\n\
        ,A,bush bean,2026-05-20,10,\n\
        ,Long-Bed,tomato,2026-05-10,10,\n";

    /// Reads a log with the lane or without it; everything there is to know of the outcome, and how many rows were left.
    fn outcome(log: &[u8], plantings: &str, by_lane: bool) -> (String, usize) {
        let mut f = Findings::default();
        let base = base::read(|_| None, &mut f);
        let planted = decode("plantings.csv", plantings.as_bytes(), &mut f).unwrap();
        let known = plantings::Known {
            crops: &base.crop_names,
            beds: None,
        };
        let planted = plantings::read(&planted, &known, DateOrder::Iso, &mut f).unwrap();
        let mut beds = Names::new();
        for (i, bed) in planted.new_beds.iter().enumerate() {
            beds.add(&bed.name, BedId(i));
        }
        let measures = [Measure {
            name: "bowl".to_owned(),
            crop: Some(base.crop_names.find("kale").unwrap()),
            mass: Mass::from_lb(2.0),
        }];
        let context = Context {
            crops: &base.crops,
            crop_names: &base.crop_names,
            bed_names: &beds,
            plantings: Some(&planted),
            product_names: &base.product_names,
            measures: &measures,
            show: Show::default(),
        };
        let Some(source) = decode("picked.csv", log, &mut f) else {
            return (format!("{f:?}"), 0);
        };
        let left = std::cell::Cell::new(0);
        let lane = |sheet: &Sheet<'_>, context: Context<'_>, givers: &Givers| {
            let plain = if by_lane {
                read(sheet, context, givers)
            } else {
                Plain::none(sheet)
            };
            left.set(plain.prints.iter().filter(|p| **p == NO_PRINT).count());
            plain
        };
        let pickings = picked::read_after(&source, context, lane, &mut f);
        (format!("{pickings:?} {f:#?}"), left.get())
    }

    /// A cell: mostly plain, now and then odd.
    fn cell(
        plain: &'static [&'static str],
        odd: &'static [&'static str],
    ) -> impl Strategy<Value = String> {
        prop_oneof![
            30 => prop::sample::select(plain),
            1 => prop::sample::select(odd),
        ]
        .prop_map(str::to_owned)
    }

    /// A row's cells by the columns of [`SPEC`].
    fn row() -> impl Strategy<Value = Vec<String>> {
        (
            cell(
                &[
                    "2026-08-01",
                    "2026-08-02",
                    "2026-07-04",
                    "2019-07-04",
                    "2026-09-30",
                ],
                &[
                    "2026-04-01",
                    "8/3/2026",
                    "13/8/2026",
                    "week of 2026-08-03",
                    "2026-13-01",
                    "",
                    " 2026-08-01",
                    "\"2026-08-02\"",
                    "2026-08-01 00:00",
                    "1849-01-01",
                    "20260801",
                    "total",
                    "3 Aug 2026",
                ],
            ),
            cell(
                &["", "A", "B", "long bed", "Long-Bed"],
                &["Q", " A", "\"A\"", "a", "B ", "sum"],
            ),
            cell(
                &["kale", "bush bean", "tomato", "Tomatoes", "beets"],
                &["kael", "", "kale ", "\"kale\"", "k\u{E1}le", "Total:"],
            ),
            cell(&["", "", "", "early"], &["late", "Early", "kale A"]),
            cell(
                &["1.5", "2", "10", "0.125", "7.000", "00012.50", "3.3"],
                &[
                    "~3",
                    "0",
                    "-1",
                    "1e3",
                    "20001",
                    "\u{BD}",
                    "3 lb",
                    "1 1/2",
                    ".5",
                    "5.",
                    "1234567890.123456",
                    "1.2.3",
                    "",
                    "\"1,5\"",
                    "1,5",
                    "+2",
                ],
            ),
            cell(
                &["lb", "oz", "kg", "bunch", "lbs"],
                &["bowl", "", "kg ", "xyz", "\"lb\"", "LB"],
            ),
            cell(&["", "yes", "no", "x"], &["maybe", "Yes", "-"]),
            cell(&["", "fresh", "put_by", "put by"], &["Fresh", "sold", "-"]),
            cell(
                &["", "", "ripe", "from the  fence"],
                &[
                    " ripe",
                    "\"a, b\"",
                    "week of",
                    "Week of the fair",
                    "ripe;",
                    "x\t",
                    "\u{E9}",
                    "\"two\nlines\"",
                    "in 5\" pot",
                ],
            ),
        )
            .prop_map(|(a, b, c, d, e, f, g, h, i)| vec![a, b, c, d, e, f, g, h, i])
    }

    /// A line of a log.
    #[derive(Debug, Clone)]
    enum Line {
        Row(Vec<String>),
        Cut(Vec<String>, usize),
        Again(prop::sample::Index),
        Header,
        Other(&'static str),
    }

    fn line() -> impl Strategy<Value = Line> {
        prop_oneof![
            40 => row().prop_map(Line::Row),
            2 => (row(), 1..9_usize).prop_map(|(row, n)| Line::Cut(row, n)),
            1 => any::<prop::sample::Index>().prop_map(Line::Again),
            1 => Just(Line::Header),
            2 => prop::sample::select(vec![
                "", " ", "# remark", "#", "total,,,,12", ",,,,,,,,,,", ",sum,,,,,,,", "2026-08-01,A,kale,,1,lb,,,,,extra",
            ])
            .prop_map(Line::Other),
        ]
    }

    fn log(columns: &[usize], separator: &str, end: &str, lines: &[Line]) -> String {
        let by_columns = |row: &[String], n: usize| {
            let cells = columns
                .iter()
                .map(|&c| row.get(c).map_or("", String::as_str));
            let cells: Vec<&str> = cells.take(n).collect();
            cells.join(separator)
        };
        let names: Vec<String> = SPEC.columns.iter().map(|&c| c.to_owned()).collect();
        let header = by_columns(&names, usize::MAX);
        let mut written: Vec<String> = Vec::new();
        for line in lines {
            let line = match line {
                Line::Row(row) => by_columns(row, usize::MAX) + end,
                Line::Cut(row, n) => by_columns(row, *n),
                Line::Again(_) if written.is_empty() => continue,
                Line::Again(which) => written[which.index(written.len())].clone(),
                Line::Header => header.clone(),
                Line::Other(other) => other.replace(',', separator),
            };
            written.push(line);
        }
        format!("{header}\n{}\n", written.join("\n"))
    }

    proptest! {
        /// With the lane or without it a log gives the same pickings, problems and warnings.
        #[test]
        fn the_lane_is_never_of_another_mind(
            lines in prop::collection::vec(line(), 0..12),
            // The tenth place is a column without a name.
            columns in prop::sample::select(vec![
                &[0, 1, 2, 3, 4, 5, 6, 7, 8][..],
                &[0, 1, 2, 4, 5],
                &[1, 2, 0, 5, 4, 8],
                &[8, 0, 2, 4, 5, 7],
                &[0, 2, 4, 5, 9, 1, 9],
            ]),
            separator in prop::sample::select(vec![",", ",", ";", "\t"]),
            end in prop::sample::select(vec!["", "", "", ",", ";", " "]),
            whole in prop::bool::weighted(0.8),
        ) {
            let log = log(columns, separator, end, &lines);
            let broken = if whole { "" } else { ",A,nothing,2026-05-01,1,\n" };
            let plantings = format!("{PLANTINGS}{broken}");
            let with = outcome(log.as_bytes(), &plantings, true).0;
            prop_assert_eq!(with, outcome(log.as_bytes(), &plantings, false).0, "{}", log);
        }

        /// Decimals are those of the general way.
        #[test]
        fn decimals_are_those_of_all_numbers(text in "[0-9]{0,9}[.]?[0-9]{0,9}") {
            if let Some(value) = decimal(text.as_bytes()) {
                prop_assert_eq!(Some(value), number::parse(&text));
            }
        }
    }

    /// Long logs go to all threads, and their rows come back in order.
    #[test]
    fn long_logs_are_read_alike() {
        let mut log = "date,bed,crop,amount,unit,note\n".to_owned();
        for i in 0..30_000 {
            let (day, bed) = (1 + i / 1_000, ["A", "B"][i % 2]);
            let odd = if i % 7_001 == 5 { "\"x, y\"" } else { "" };
            log += &format!(
                "2026-08-{day:02},{bed},kale,{}.{:03},lb,{odd}\n",
                1 + i % 9,
                i % 1_000
            );
            if i % 10_000 == 9 {
                log += " ,\n";
            }
        }
        let with = outcome(log.as_bytes(), PLANTINGS, true);
        assert_eq!(with.1, 5 + 3);
        assert!(with.0 == outcome(log.as_bytes(), PLANTINGS, false).0);
        let twice = format!("{log}2026-08-03,B,kale,9.123,lb\n");
        let with = outcome(twice.as_bytes(), PLANTINGS, true);
        assert!(with.0.contains("this row is the same as line 2126"));
        assert!(with.0 == outcome(twice.as_bytes(), PLANTINGS, false).0);
    }

    /// Rows as most are written stay in the lane.
    #[test]
    fn plain_rows_are_not_left() {
        let log = "date,bed,crop,planting,amount,unit,guess,use,note\n\
            2026-08-01,A,kale,,1.5,lb,,fresh,\n\
            2026-08-01,B,Kale,early,2,bowl,yes,put_by,from the fence\n\
            2026-08-02,,bush beans,,3,LB\n";
        assert_eq!(outcome(log.as_bytes(), PLANTINGS, true).1, 0);
    }
}
