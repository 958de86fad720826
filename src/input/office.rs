//! The weather office's normals as downloaded: chances of cold by date, and means of the daily minimum and maximum.
//!
//! Reads columns by their names from annual, monthly and daily files of one station, each alone or together; which of them
//! the garden then uses is [`super::frost`]'s and [`super::normals`]'s business. Layout and names: NOAA,
//! 1991-2020 U.S. Climate Normals, readme of the by-variable and by-station files.

use super::keys::Entry;
use super::loader::Files;
use super::number::short;
use super::office_cells::{Table, fewer_years, month, number};
use super::office_frost;
use super::problem::{Findings, Kind, Problem, Told};
use super::split::Record;
use super::stations;
use super::text::{Source, decode};
use crate::garden::site::{FrostTable, MonthlyNormals};
use crate::garden::units::Temperature;
use std::borrow::Cow;

/// Columns of mean minimum and maximum, of months and of days.
const MEANS: [[&str; 2]; 2] = [
    ["MLY-TMIN-NORMAL", "MLY-TMAX-NORMAL"],
    ["DLY-TMIN-NORMAL", "DLY-TMAX-NORMAL"],
];
/// Fewest days of a month whose daily normals make its mean.
const ENOUGH_DAYS: u32 = 28;
/// No mean of any month is warmer than this, °F; what passes it is in tenths.
const WARMEST_F: f64 = 140.0;
/// A year has no month warmer than this, °F, only where the file is in Celsius.
const COLDEST_SUMMER_F: f64 = 46.0;

/// What the files hold of a station.
#[derive(Debug, Default)]
pub(crate) struct Office {
    /// Name of the station, as shown to the reader.
    pub(crate) place: String,
    /// Latitude of the station, degrees, if the files say it.
    pub(crate) latitude_deg: Option<f64>,
    /// Chances of cold by date; empty without an annual file.
    pub(crate) frost: FrostTable,
    /// Means of each month, if a monthly or daily file is there.
    pub(crate) monthly: Option<MonthlyNormals>,
}

/// Reads the files that a key names: one name, or a list of them.
pub(crate) fn read(entry: &Entry<'_>, files: &Files, f: &mut Findings) -> Result<Office, Told> {
    let named = if entry.is_list() {
        entry.items(f)?
    } else {
        vec![entry.clone()]
    };
    let mut office = Gathered::default();
    let mut sound = true;
    let mut names = Vec::new();
    for item in &named {
        let name = item.text(f)?;
        sound &= one_file(item, &name, files, &mut office, f).is_ok();
        names.push(name);
    }
    let monthly = if sound {
        monthly(&office, &names, f)?
    } else {
        None
    };
    if !sound {
        return Err(Told);
    }
    let what = match (office.frost.fall.is_empty(), monthly.is_some()) {
        (false, true) => "Frost dates and monthly temperatures are",
        (false, false) => "Frost dates are",
        _ => "Monthly temperatures are",
    };
    let years = office
        .years
        .map_or(String::new(), |n| format!(", of {n} years"));
    f.assume(format!(
        "{what} the weather office's for {}{years} ({}).",
        office.place,
        names.join(", ")
    ));
    Ok(Office {
        place: office.place,
        latitude_deg: office.latitude_deg,
        frost: office.frost,
        monthly,
    })
}

/// Says whether a text begins as a file of normals does.
pub(crate) fn is_normals(text: &str) -> bool {
    let line = text.lines().find(|l| !l.trim().is_empty());
    line.is_some_and(|line| {
        ["MLY-", "DLY-", "ANN-"]
            .iter()
            .any(|start| line.contains(start))
    })
}

/// What is known after some of the files.
#[derive(Debug, Default)]
struct Gathered {
    station: String,
    place: String,
    latitude_deg: Option<f64>,
    /// Fewest years that a value in use rests on.
    years: Option<u32>,
    frost: FrostTable,
    /// Sum and count of what stands for each month: of monthly, then of daily files; minimum, then maximum.
    means: [[[(f64, u32); 12]; 2]; 2],
}

fn one_file(
    entry: &Entry<'_>,
    name: &str,
    files: &Files,
    office: &mut Gathered,
    f: &mut Findings,
) -> Result<(), Told> {
    let Some(bytes) = files.content.get(name) else {
        if files.unreadable.iter().any(|(n, _)| n == name) {
            return Err(Told);
        }
        return Err(f.tell(
            entry
                .problem(Kind::MissingFile, format!("the file {name} is not there"))
                .expected(
                    "a file of normals in the garden's folder, as the weather office gives it",
                )
                .hint("put the file into the folder, or mend its name here"),
        ));
    };
    let source = decode(name, bytes, f).ok_or(Told)?;
    let table = Table::of(&source);
    let means: Vec<(usize, usize, usize)> = (0..2)
        .flat_map(|kind| (0..2).map(move |end| (kind, end)))
        .filter_map(|(kind, end)| Some((kind, end, table.find(MEANS[kind][end])?)))
        .collect();
    let frost = table.names.iter().any(|n| n.starts_with("ANN-TMIN-PRB"));
    if means.is_empty() && !frost {
        return Err(f.tell(wrong_file(&source)));
    }
    if table.rows().is_empty() {
        return Err(f.tell(
            Problem::of_file(
                Kind::BadWeather,
                name,
                "the file has no line below its names",
            )
            .expected("the file as the weather office gives it"),
        ));
    }
    let mut seen = [false; 12];
    for row in table.rows() {
        same_station(&table, row, office, f)?;
        if frost {
            office_frost::rows(&table, row, &mut office.frost, &mut office.years, f)?;
        }
        if means.is_empty() {
            continue;
        }
        let month = month(&table, row, f)?;
        if means[0].0 == 0 && std::mem::replace(&mut seen[month], true) {
            let n = table.find("MONTH").or(table.find("DATE")).unwrap_or(0);
            return Err(f.tell(
                table
                    .problem(
                        row,
                        n,
                        format!("month {} stands in the file twice", month + 1),
                    )
                    .expected("twelve lines, one a month")
                    .hint("delete one of the two lines"),
            ));
        }
        for &(kind, end, n) in &means {
            let sum = &mut office.means[kind][end][month];
            match number(&table, row, n, f)? {
                Some(value) => {
                    *sum = (sum.0 + value, sum.1 + 1);
                    fewer_years(&table, row, MEANS[kind][end], &mut office.years);
                }
                None if kind == 0 => {
                    return Err(f.tell(
                        table
                            .problem(row, n, format!("there is no value for month {}", month + 1))
                            .expected("the month's mean in degrees Fahrenheit, such as 46.5")
                            .hint("take another station, or write min_f and max_f under [climate] yourself"),
                    ));
                }
                None => {}
            }
        }
    }
    Ok(())
}

/// Says what a file is that holds no temperatures to be used.
fn wrong_file(source: &Source) -> Problem {
    let name = &source.name;
    let problem = |message: String| Problem::of_file(Kind::BadWeather, name, message);
    if stations::layout(&source.text).is_some() {
        problem(format!("{name} holds daily records, not normals"))
            .expected("a file of normals")
            .hint(format!("name it as weather = \"{name}\" under [climate]"))
    } else if is_normals(&source.text) {
        problem(format!("{name} holds normals, but no temperatures"))
            .expected("columns such as MLY-TMIN-NORMAL and MLY-TMAX-NORMAL, or ANN-TMIN-PRBLST-T32FP50")
            .hint("take the annual/seasonal and the monthly file of the station, with all their columns")
    } else {
        problem(format!("{name} is no file of normals"))
            .expected("a first line that names columns such as MLY-TMIN-NORMAL or ANN-TMIN-PRBLST-T32FP50")
            .hint("take it unchanged from the weather office, as CSV by station")
    }
}

fn same_station(
    table: &Table<'_>,
    row: &Record,
    office: &mut Gathered,
    f: &mut Findings,
) -> Result<(), Told> {
    let Some(n) = table.find("STATION").or(table.find("GHCN_ID")) else {
        return Ok(());
    };
    let station = table.cell(row, n).1;
    if office.station.is_empty() {
        office.station = station.into_owned();
        office.place = table
            .text(row, "NAME")
            .map_or_else(|| format!("station {}", office.station), Cow::into_owned);
        office.latitude_deg = table.text(row, "LATITUDE").and_then(|t| t.parse().ok());
    } else if office.station != station {
        let message = format!(
            "station {} comes after station {}",
            short(&station),
            office.station
        );
        return Err(f.tell(
            table
                .problem(row, n, message)
                .expected("one station in all the files of normals")
                .hint("keep the lines of the station nearest to you and delete the others"),
        ));
    }
    Ok(())
}

/// Makes the twelve months, from monthly files before daily ones; none if the files hold neither.
fn monthly(
    office: &Gathered,
    names: &[String],
    f: &mut Findings,
) -> Result<Option<MonthlyNormals>, Told> {
    let has = |kind: usize| office.means[kind].iter().flatten().any(|m| m.1 > 0);
    let Some(kind) = [0, 1].into_iter().find(|&k| has(k)) else {
        return Ok(None);
    };
    let enough = if kind == 0 { 1 } else { ENOUGH_DAYS };
    let file = names.join(", ");
    let problem = |message: String| Problem::of_file(Kind::BadWeather, &file, message);
    for (end, months) in office.means[kind].iter().enumerate() {
        if let Some(m) = months.iter().position(|m| m.1 < enough) {
            return Err(f.tell(
                problem(format!("there is no {} for month {}", MEANS[kind][end], m + 1))
                    .expected("all twelve months of MLY-TMIN-NORMAL and of MLY-TMAX-NORMAL")
                    .hint("take the station's whole monthly file, or write min_f and max_f under [climate] yourself"),
            ));
        }
    }
    let mut ends = office.means[kind].map(|months| months.map(|(sum, n)| sum / f64::from(n)));
    let warmest = ends[1].iter().copied().fold(f64::MIN, f64::max);
    if warmest > WARMEST_F {
        ends = ends.map(|months| months.map(|v| v / 10.0));
        f.assume(format!(
            "The temperatures of {file} were taken for tenths of a degree Fahrenheit."
        ));
    } else if warmest < COLDEST_SUMMER_F {
        return Err(f.tell(
            problem(format!("no month is warmer than {warmest} °F"))
                .expected("degrees Fahrenheit, as the office's files have them")
                .hint("these look like degrees Celsius: write them as min_c and max_c under [climate]"),
        ));
    }
    let [min, max] = ends;
    if let Some(m) = (0..12).find(|&m| min[m] > max[m]) {
        return Err(f.tell(
            problem(format!(
                "in month {} the mean minimum {} is above the mean maximum {}",
                m + 1,
                min[m],
                max[m]
            ))
            .hint("take the file unchanged from the weather office"),
        ));
    }
    Ok(Some(MonthlyNormals {
        min: min.map(Temperature::from_f),
        max: max.map(Temperature::from_f),
    }))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::loader::{Files, load_files};
    use crate::garden::Garden;
    use crate::garden::site::{Climate, FrostRow};
    use crate::garden::week::YearDay;

    /// A column of normals with its flags and years, blank-padded as the office's files are.
    fn column(name: &str, value: &str) -> (String, String) {
        (
            format!("\"{name}\",\"meas_flag_{name}\",\"comp_flag_{name}\",\"years_{name}\""),
            format!("\"{value:>8}\",\" \",\"R\",\"22\""),
        )
    }

    /// An annual file with some columns.
    fn annual(columns: &[(&str, &str)]) -> String {
        let (names, values): (Vec<String>, Vec<String>) =
            columns.iter().map(|(n, v)| column(n, v)).unzip();
        format!(
            "\"STATION\",\"LATITUDE\",\"LONGITUDE\",\"ELEVATION\",\"NAME\",\"month\",\"day\",\"hour\",{}\n\"USW00094765\",\" 43.6264\",\" -72.3053\",\" 179.8\",\"LEBANON MUNI AP, NH US\",\"99\",\"99\",\"99\",{}\n",
            names.join(","),
            values.join(",")
        )
    }

    /// A daily file whose days all stand at their month's figure.
    fn daily(min: &[f64; 12], max: &[f64; 12]) -> String {
        let (low, high) = (column("DLY-TMIN-NORMAL", ""), column("DLY-TMAX-NORMAL", ""));
        let mut out = format!(
            "\"STATION\",\"DATE\",\"NAME\",\"month\",\"day\",{},{}\n",
            low.0, high.0
        );
        for date in chrono::NaiveDate::from_ymd_opt(2024, 1, 1)
            .unwrap()
            .iter_days()
            .take(366)
        {
            let m = chrono::Datelike::month0(&date) as usize;
            let cells = [min[m], max[m]].map(|v| column("", &format!("{v:.1}")).1);
            out += &format!(
                "\"USW00094765\",\"{}\",\"LEBANON MUNI AP, NH US\",\"{:02}\",\"{:02}\",{},{}\n",
                date.format("%m-%d"),
                m + 1,
                chrono::Datelike::day(&date),
                cells[0],
                cells[1]
            );
        }
        out
    }

    fn garden(settings: &str, files: &[(&str, &str)]) -> Garden {
        let mut all = Files::default();
        let mut put = |name: &str, text: &str| {
            all.content
                .insert(name.to_owned(), text.as_bytes().to_vec())
        };
        put(
            "garden.toml",
            &format!("[site]\nlatitude_deg = 43.5\n{settings}"),
        );
        put(
            "plantings.csv",
            "bed,crop,sown,row_ft\nA,kale,2026-05-20,10\n",
        );
        for (name, text) in files {
            put(name, text);
        }
        load_files(&all).unwrap_or_else(|problems| panic!("{problems:#?}"))
    }

    fn row(rows: &[FrostRow], f: f64) -> Option<&FrostRow> {
        rows.iter().find(|r| (r.threshold.f() - f).abs() < 0.01)
    }

    fn dates(row: &FrostRow) -> Vec<(f64, String)> {
        let text = |d: YearDay| d.in_year(2025).format("%m/%d").to_string();
        row.dates.iter().map(|(p, d)| (*p, text(*d))).collect()
    }

    /// Dates and temperatures of Lebanon, New Hampshire: NOAA 1991-2020 normals of station USW00094765, a work of the United
    /// States Government; the columns of 16 °F that stop half-way are made up.
    #[test]
    fn lebanons_normals_come_back() {
        let frost = annual(&[
            ("ANN-TMIN-PRBLST-T32FP10", "05/24"),
            ("ANN-TMIN-PRBLST-T32FP50", "05/09"),
            ("ANN-TMIN-PRBLST-T32FP90", "04/27"),
            ("ANN-TMIN-PRBFST-T32FP10", "09/23"),
            ("ANN-TMIN-PRBFST-T32FP50", "10/06"),
            ("ANN-TMIN-PRBFST-T32FP90", "10/19"),
            ("ANN-TMIN-PRBLST-T28FP50", "04/29"),
            ("ANN-TMIN-PRBFST-T28FP50", "10/15"),
            ("ANN-TMIN-PRBFST-T16FP10", "12/20"),
            ("ANN-TMIN-PRBFST-T16FP20", "01/11"),
            ("ANN-TMIN-PRBFST-T16FP30", "-9999"),
            ("ANN-TMIN-PRBFST-T16FP40", "-6666.0"),
            ("ANN-TMIN-PRBLST-T16FP10", ""),
        ]);
        let min = [
            9.3, 11.0, 20.7, 31.9, 43.7, 52.4, 57.8, 56.2, 48.6, 37.4, 27.7, 18.1,
        ];
        let max = [
            30.3, 33.9, 43.0, 56.6, 69.7, 77.9, 82.7, 81.1, 72.9, 59.8, 46.8, 35.5,
        ];
        let months = daily(&min, &max);
        let garden = garden(
            "[climate]\nnormals = [\"a.csv\", \"d.csv\"]\n",
            &[("a.csv", &frost), ("d.csv", &months)],
        );
        let table = &garden.site.frost;
        let pairs = |a: &str, b: &str, c: &str| {
            [(0.1, a), (0.5, b), (0.9, c)]
                .map(|(p, d)| (p, d.to_owned()))
                .to_vec()
        };
        assert_eq!(
            dates(row(&table.spring, 32.0).unwrap()),
            pairs("05/24", "05/09", "04/27")
        );
        assert_eq!(
            dates(row(&table.fall, 32.0).unwrap()),
            pairs("09/23", "10/06", "10/19")
        );
        assert_eq!(
            dates(row(&table.spring, 28.0).unwrap()),
            [(0.5, "04/29".to_owned())]
        );
        // Cold that comes in one winter of four: no dates from the level on at which the table ends.
        let deep = row(&table.fall, 16.0).unwrap();
        assert!(
            (deep.share - 0.25).abs() < 1e-12 && deep.dates.len() == 2,
            "{deep:?}"
        );
        assert!(row(&table.spring, 16.0).is_none());
        let Climate::Monthly(normals) = &garden.site.climate else {
            panic!("{:?}", garden.site.climate)
        };
        for m in 0..12 {
            assert!((normals.min[m].f() - min[m]).abs() < 1e-9);
            assert!((normals.max[m].f() - max[m]).abs() < 1e-9);
        }
        assert_eq!(
            garden.assumed[0],
            "Frost dates and monthly temperatures are the weather office's for LEBANON MUNI AP, NH US, of 22 years (a.csv, d.csv)."
        );
    }

    /// What the household says itself goes first; the office fills in the rest.
    #[test]
    fn the_households_own_dates_go_before_the_offices() {
        let frost = annual(&[
            ("ANN-TMIN-PRBLST-T32FP50", "05/09"),
            ("ANN-TMIN-PRBFST-T32FP50", "10/06"),
            ("ANN-TMIN-PRBFST-T28FP50", "10/15"),
        ]);
        let garden = garden(
            "[frost]\nfirst_fall = \"10-12\"\n[climate]\nnormals = \"a.csv\"\n",
            &[("a.csv", &frost)],
        );
        let table = &garden.site.frost;
        assert_eq!(
            dates(row(&table.fall, 32.0).unwrap()),
            [(0.5, "10/12".to_owned())]
        );
        assert_eq!(
            dates(row(&table.spring, 32.0).unwrap()),
            [(0.5, "05/09".to_owned())]
        );
        assert_eq!(
            dates(row(&table.fall, 28.0).unwrap()),
            [(0.5, "10/15".to_owned())]
        );
        assert!(matches!(garden.site.climate, Climate::Inferred));
    }
}
