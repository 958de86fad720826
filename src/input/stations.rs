//! Daily weather files as a weather office gives them out: fixed-width station months, one value a line, one day a line.
//!
//! Reads minimum and maximum only; drops values that failed the office's own checks and says how many. Layouts: NOAA GHCN-Daily
//! `readme.txt` section III, `readme-by_station.txt`, and the documentation of the Daily Summaries export.

use super::dates::YEARS;
use super::problem::{Findings, Kind, Problem, Told};
use super::rows::cell_text;
use super::split::{Record, Split, split};
use super::text::Source;
use super::weather::fill;
use super::weather_unit::{Unit, no_unit};
use crate::garden::site::{DailyWeather, DayRecord};
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// Layouts of the weather office.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// One line a station, month and element; 31 values of eight characters from character 22 on.
    FixedWidth,
    /// One line a value: station, date as eight digits, element, value, flags.
    OneValueALine,
    /// One line a day, one column an element.
    OneDayALine,
}

/// Recognises a layout by the first line that is not empty; none if it is no weather office's.
pub(crate) fn layout(text: &str) -> Option<Layout> {
    let line = text.lines().find(|l| !l.trim().is_empty())?;
    if is_fixed(line) {
        return Some(Layout::FixedWidth);
    }
    let cells: Vec<String> = split(line, 0, b',')
        .cells
        .iter()
        .map(|c| cell_text(&line[c.clone()]).to_uppercase())
        .collect();
    let has = |name: &str| cells.iter().any(|c| c == name);
    let digits = |text: &str, n: usize| text.len() == n && text.bytes().all(|b| b.is_ascii_digit());
    if (has("ELEMENT") && has("DATA_VALUE"))
        || (cells.len() >= 4 && digits(&cells[1], 8) && cells[2].len() == 4 && cells[0].len() == 11)
    {
        Some(Layout::OneValueALine)
    } else if has("DATE") && has("TMIN") && has("TMAX") {
        Some(Layout::OneDayALine)
    } else {
        None
    }
}

fn is_fixed(line: &str) -> bool {
    let bytes = line.as_bytes();
    bytes.len() > 21
        && bytes[..11].iter().all(u8::is_ascii_alphanumeric)
        && bytes[11..17].iter().all(u8::is_ascii_digit)
        && bytes[17..21].iter().all(u8::is_ascii_alphanumeric)
        && !bytes[..21].contains(&b',')
}

/// A day's minimum and maximum in whole units of the file.
type Days = BTreeMap<NaiveDate, [Option<f64>; 2]>;

/// Values read and values left out.
#[derive(Debug, Default)]
struct Reader {
    station: String,
    days: Days,
    /// Values that failed the office's checks.
    flagged: usize,
}

impl Reader {
    fn put(&mut self, date: NaiveDate, element: Element, value: f64, quality: &str) {
        // Some stations began in the eighteenth century; no garden's year is made of theirs.
        if date.year() < *YEARS.start() {
            return;
        }
        if quality.trim().is_empty() {
            self.days.entry(date).or_default()[element as usize] = Some(value);
        } else {
            self.flagged += 1;
        }
    }
    /// Takes the first station's name and refuses a second one.
    fn same_station(&mut self, name: &str) -> Result<(), String> {
        if self.station.is_empty() {
            name.clone_into(&mut self.station);
        }
        if self.station == name {
            Ok(())
        } else {
            Err(format!(
                "the file holds station {} and station {name}",
                self.station
            ))
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Element {
    Min = 0,
    Max = 1,
}

fn element(name: &str) -> Option<Element> {
    match name {
        "TMIN" => Some(Element::Min),
        "TMAX" => Some(Element::Max),
        _ => None,
    }
}

/// Reads a file of a known layout.
///
/// The unit is the household's word for a file that does not say its own.
pub(crate) fn read(
    source: &Source,
    layout: Layout,
    unit: Option<Unit>,
    f: &mut Findings,
) -> Result<DailyWeather, Told> {
    let mut reader = Reader::default();
    let scale = match layout {
        Layout::FixedWidth => {
            fixed_width(source, &mut reader, f).map(|()| Unit::Tenths.converter())
        }
        Layout::OneValueALine => {
            one_value_a_line(source, &mut reader, f).map(|()| Unit::Tenths.converter())
        }
        Layout::OneDayALine => one_day_a_line(source, &mut reader, unit, f),
    }?;
    let mut impossible = 0;
    let days = reader
        .days
        .iter()
        .map(|(date, values)| {
            (
                *date,
                checked(values.map(|v| v.map(scale)), &mut impossible),
            )
        })
        .collect();
    let name = &source.name;
    if reader.flagged > 0 {
        f.warn(format!(
            "In {name} {} values that failed the weather office's own checks were left out.",
            reader.flagged
        ));
    }
    if impossible > 0 {
        f.warn(format!(
            "In {name} {impossible} temperatures that cannot be were left out."
        ));
    }
    fill(source, &days, f)
}

/// Leaves out what cannot be: beyond the records of the earth, or a minimum above the maximum.
fn checked(values: [Option<f64>; 2], impossible: &mut usize) -> DayRecord {
    let [mut min, mut max] = values.map(|v| v.filter(|c| (-90.0..=60.0).contains(c)));
    *impossible += usize::from(min != values[0]) + usize::from(max != values[1]);
    if let (Some(a), Some(b)) = (min, max)
        && a > b
    {
        (min, max) = (None, None);
        *impossible += 2;
    }
    #[allow(clippy::cast_possible_truncation, reason = "tenths of a degree fit")]
    let short = |v: f64| v as f32;
    DayRecord {
        min_c: min.map(short),
        max_c: max.map(short),
    }
}

fn bad(
    source: &Source,
    span: std::ops::Range<usize>,
    message: impl Into<String>,
    f: &mut Findings,
) -> Told {
    f.tell(
        Problem::at(Kind::BadWeather, source, span, message)
            .expected("the file as the weather office gives it, one station")
            .hint("take it unchanged from the office; or write a plain one: date,tmin_c,tmax_c"),
    )
}

fn fixed_width(source: &Source, reader: &mut Reader, f: &mut Findings) -> Result<(), Told> {
    let mut at = 0;
    for line in source.text.split('\n') {
        let span = at..at + line.len();
        at = span.end + 1;
        if line.trim().is_empty() {
            continue;
        }
        let (true, true) = (is_fixed(line), line.is_ascii()) else {
            return Err(bad(source, span, "this line is no station month", f));
        };
        reader
            .same_station(&line[..11])
            .map_err(|message| bad(source, span.clone(), message, f))?;
        let Some(element) = element(&line[17..21]) else {
            continue;
        };
        let (year, month) = (
            line[11..15].parse().unwrap_or(0),
            line[15..17].parse().unwrap_or(0),
        );
        for day in 0..31_usize {
            // Editors strip the blanks at the end of a line.
            let value = line
                .get(21 + 8 * day..line.len().min(26 + 8 * day))
                .unwrap_or("")
                .trim();
            let quality = line
                .get(27 + 8 * day..line.len().min(28 + 8 * day))
                .unwrap_or("");
            let date = u32::try_from(day + 1)
                .ok()
                .and_then(|d| NaiveDate::from_ymd_opt(year, month, d))
                .filter(not_far_ahead);
            match (value, value.parse::<i32>(), date) {
                ("" | "-9999", ..) => {}
                (_, Ok(value), Some(date)) => reader.put(date, element, f64::from(value), quality),
                _ => {
                    return Err(bad(
                        source,
                        span,
                        format!(
                            "`{value}` for day {} is no temperature of that month",
                            day + 1
                        ),
                        f,
                    ));
                }
            }
        }
    }
    Ok(())
}

fn one_value_a_line(source: &Source, reader: &mut Reader, f: &mut Findings) -> Result<(), Told> {
    let table = split(&source.text, 0, b',');
    for (i, record) in table.records.iter().enumerate() {
        let cell = |n: usize| cell(source, &table, record, n);
        if i == 0 && cell(3).eq_ignore_ascii_case("DATA_VALUE") {
            continue;
        }
        let span = record.span.clone();
        reader
            .same_station(&cell(0))
            .map_err(|message| bad(source, span.clone(), message, f))?;
        let Some(element) = element(&cell(2)) else {
            continue;
        };
        let date = NaiveDate::parse_from_str(&cell(1), "%Y%m%d").ok();
        match (date.filter(not_far_ahead), cell(3).parse::<i32>()) {
            (_, Ok(-9999)) => {}
            (Some(date), Ok(value)) => reader.put(date, element, f64::from(value), &cell(5)),
            _ => return Err(bad(source, span, "this line has no date or no value", f)),
        }
    }
    Ok(())
}

/// Says whether a day can be in a record: none is of the years to come that are a slip of the pen.
fn not_far_ahead(date: &NaiveDate) -> bool {
    date.year() <= *YEARS.end()
}

/// Returns the cleaned content of a record's cell; empty where there is none.
fn cell<'a>(
    source: &'a Source<'a>,
    table: &Split,
    record: &Record,
    n: usize,
) -> std::borrow::Cow<'a, str> {
    table.cells[record.cells.clone()]
        .get(n)
        .map_or("".into(), |c| cell_text(&source.text[c.clone()]))
}

/// Reads one day a line and returns how its unit becomes degrees Celsius.
///
/// The station's own file has its latitude after the date and is in tenths; an ordered one has it before, or not at all, is in
/// whichever unit was ordered, and does not say so: the household must.
fn one_day_a_line(
    source: &Source,
    reader: &mut Reader,
    unit: Option<Unit>,
    f: &mut Findings,
) -> Result<fn(f64) -> f64, Told> {
    let table = split(&source.text, 0, b',');
    // The first line looked right by itself; read with what follows it, it may be none.
    let mut no_names = || {
        let message = "the line of column names cannot be read: a quote on it is not closed, or it is a remark";
        Err(bad(source, source.header_span(), message, f))
    };
    let Some((head, rows)) = table.records.split_first() else {
        return no_names();
    };
    let find = |name: &str| {
        (0..head.cells.len()).find(|&n| cell(source, &table, head, n).eq_ignore_ascii_case(name))
    };
    let (Some(date), Some(min), Some(max)) = (find("DATE"), find("TMIN"), find("TMAX")) else {
        return no_names();
    };
    let columns = [
        (Element::Min, min, find("TMIN_ATTRIBUTES")),
        (Element::Max, max, find("TMAX_ATTRIBUTES")),
    ];
    let station = find("STATION");
    let own = find("LATITUDE").is_some_and(|latitude| date < latitude);
    let (mut decimals, mut warmest) = (false, Vec::new());
    for record in rows {
        let cell = |n: usize| cell(source, &table, record, n);
        let span = record.span.clone();
        if let Some(station) = station {
            reader
                .same_station(&cell(station))
                .map_err(|message| bad(source, span.clone(), message, f))?;
        }
        let Some(day) = cell(date).parse().ok().filter(not_far_ahead) else {
            return Err(bad(
                source,
                span,
                format!("`{}` is no date", super::number::short(&cell(date))),
                f,
            ));
        };
        for (element, column, flags) in columns {
            let text = cell(column);
            if text.is_empty() || text.starts_with("-9999") {
                continue;
            }
            let Some(value) = text.parse::<f64>().ok().filter(|v| v.is_finite()) else {
                return Err(bad(
                    source,
                    span,
                    format!("`{}` is no temperature", super::number::short(&text)),
                    f,
                ));
            };
            decimals |= text.contains('.');
            if element == Element::Max {
                warmest.push(value);
            }
            let attributes = flags.map(|n| cell(n).into_owned()).unwrap_or_default();
            reader.put(
                day,
                element,
                value,
                attributes.split(',').nth(1).unwrap_or(""),
            );
        }
    }
    match unit {
        _ if own => Ok(Unit::Tenths.converter()),
        Some(unit) => Ok(unit.converter()),
        None => Err(f.tell(no_unit(source, decimals, &mut warmest))),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn load_in(text: &str, unit: Option<Unit>) -> (Result<DailyWeather, Told>, Findings) {
        let mut f = Findings::default();
        let source = Source::from_text("station.csv", text);
        let layout = layout(&source.text).unwrap();
        let weather = read(&source, layout, unit, &mut f);
        (weather, f)
    }

    fn load(text: &str) -> (Result<DailyWeather, Told>, Findings) {
        load_in(text, Some(Unit::Tenths))
    }

    /// Lays out one station month as the office's readme does; values invented.
    fn month(element: &str, values: &[(i32, char)]) -> String {
        let days: String = (0..31)
            .map(|d| {
                values
                    .get(d)
                    .map_or("-9999   ".to_owned(), |(v, q)| format!("{v:>5} {q}6"))
            })
            .collect();
        format!("XX000000001202601{element}{days}\n")
    }

    #[test]
    fn every_layout_gives_the_same_days() {
        let fixed = month("TMAX", &[(50, ' '), (61, ' '), (-9999, ' '), (900, 'X')])
            + &month("PRCP", &[(0, ' ')])
            + &month("TMIN", &[(-33, ' '), (-9999, ' '), (11, ' '), (22, ' ')]);
        let long = "XX000000001,20260101,TMAX,50,,,S,\nXX000000001,20260102,TMAX,61,,,S,0700\nXX000000001,20260104,TMAX,900,,X,S,\nXX000000001,20260101,PRCP,5,,,S,\nXX000000001,20260101,TMIN,-33,,,S,\nXX000000001,20260103,TMIN,11,,,S,\nXX000000001,20260104,TMIN,22,,,S,\n";
        let headed = format!("ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n{long}");
        let wide = "\"STATION\",\"DATE\",\"NAME\",\"TMAX\",\"TMAX_ATTRIBUTES\",\"TMIN\",\"TMIN_ATTRIBUTES\"\n\"XX000000001\",\"2026-01-01\",\"A, B\",\"   50\",\",,S\",\"  -33\",\",,S\"\n\"XX000000001\",\"2026-01-02\",\"A, B\",\"   61\",\",,S,0700\",\"\",\"\"\n\"XX000000001\",\"2026-01-03\",\"A, B\",\"\",\"\",\"   11\",\",,S\"\n\"XX000000001\",\"2026-01-04\",\"A, B\",\"  900\",\",X,S\",\"   22\"\n";
        for text in [fixed.as_str(), long, &headed, wide] {
            let (weather, f) = load(text);
            let weather = weather.unwrap();
            assert_eq!(weather.first.to_string(), "2026-01-01");
            let got: Vec<_> = weather.days.iter().map(|d| (d.min_c, d.max_c)).collect();
            assert_eq!(
                got,
                [
                    (Some(-3.3), Some(5.0)),
                    (None, Some(6.1)),
                    (Some(1.1), None),
                    (Some(2.2), None)
                ],
                "{text}"
            );
            assert!(
                f.warnings[0].contains(" 1 values that failed"),
                "{:?}",
                f.warnings
            );
        }
    }

    /// A station's own file is in tenths whatever is said; an ordered one is in the unit that was ordered, which must be said.
    #[test]
    fn units_are_asked_for_and_never_guessed() {
        for (max, min, word, unit) in [
            ("68", "50", "\"F\"", Unit::Fahrenheit),
            ("20.0", "10.0", "\"C\"", Unit::Celsius),
            ("200", "100", "\"tenths of C\"", Unit::Tenths),
        ] {
            let text = format!("STATION,NAME,DATE,TMAX,TMIN\nX,\"Y, Z\",2026-07-01,{max},{min}\n");
            let (weather, f) = load_in(&text, None);
            assert!(weather.is_err());
            assert_eq!(f.problems[0].kind, Kind::MissingKey);
            assert!(f.problems[0].hint.as_ref().unwrap().contains(word), "{f:?}");
            let day = load_in(&text, Some(unit)).0.unwrap().days[0];
            assert!(
                (day.max_c.unwrap() - 20.0).abs() < 1e-5
                    && (day.min_c.unwrap() - 10.0).abs() < 1e-5,
                "{unit:?}"
            );
        }
        let own = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMIN\nX,2026-07-01,40,-80,9,\"Y, Z\",\"  200\",\"  100\"\n";
        for unit in [None, Some(Unit::Fahrenheit)] {
            let day = load_in(own, unit).0.unwrap().days[0];
            assert_eq!((day.min_c, day.max_c), (Some(10.0), Some(20.0)));
        }
    }

    #[test]
    fn two_stations_and_broken_lines_are_told_with_their_line() {
        let two = month("TMAX", &[(50, ' ')])
            + &month("TMAX", &[(50, ' ')]).replace("XX000000001", "XX000000002");
        for (text, line) in [
            (two.as_str(), 2),
            (
                "XX000000001,20260101,TMAX,50,,,S,\nXX000000001,20261301,TMAX,50,,,S,\n",
                2,
            ),
            (
                "STATION,DATE,TMAX,TMIN\nX,2026-01-01,5,1\n\nX,soon,5,1\n",
                4,
            ),
            (
                "STATION,DATE,TMAX,TMIN\nX,2026-01-01,5,1\nX,2026-01-02,warm,1\n",
                3,
            ),
        ] {
            let (weather, f) = load(text);
            assert!(weather.is_err());
            assert_eq!(
                (f.problems[0].kind, f.problems[0].line),
                (Kind::BadWeather, Some(line)),
                "{text}"
            );
        }
    }

    #[test]
    fn what_cannot_be_is_left_out_and_counted() {
        let (weather, f) = load(
            "STATION,DATE,TMAX,TMIN\nX,2026-07-01,300,-957\nX,2026-07-02,100,200\nX,2026-07-03,310,200\n",
        );
        let days = weather.unwrap().days;
        assert_eq!(
            (days[0].min_c, days[0].max_c, days[1]),
            (None, Some(30.0), DayRecord::default())
        );
        assert!(f.warnings[0].contains(" 3 temperatures"));
    }
}
