//! Rows of `plantings.csv` as plantings: the one file of rows that every garden has.

use super::beds;
use super::cells::Span;
use super::dates::{Reading, reading_of};
use super::names::Names;
use super::number;
use super::planting_names;
use super::problem::{Findings, Kind, Told};
use super::rows::{Cell, Row, Sheet, Spec};
use super::text::Source;
use super::units;
use crate::garden::DateOrder;
use crate::garden::bed::{Bed, BedId};
use crate::garden::crop::CropId;
use crate::garden::planting::{Planting, PlantingId, Size};

/// Columns of `plantings.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &[
        "planting",
        "bed",
        "crop",
        "variety",
        "sown",
        "set_out",
        "row_ft",
        "row_m",
        "area_sqft",
        "area_m2",
        "plants",
        "days_to_maturity",
        "yield_factor",
        "cleared",
        "note",
    ],
    required: &["bed", "crop"],
    example: "bed,crop,sown,row_ft",
    paste_from: 1,
};

const SIZES: [(&str, Span); 5] = [
    (
        "row_ft",
        Span::above_zero("a number of feet, such as 12", 50_000.0),
    ),
    (
        "row_m",
        Span::above_zero("a number of metres, such as 3.5", 15_000.0),
    ),
    (
        "area_sqft",
        Span::above_zero("a number of square feet, such as 32", 500_000.0),
    ),
    (
        "area_m2",
        Span::above_zero("a number of square metres, such as 3", 50_000.0),
    ),
    (
        "plants",
        Span::above_zero("a number of plants, such as 6", 1_000_000.0),
    ),
];
const MATURITY: Span = Span::between("a number of days, such as 55", 10.0, 400.0);

/// The longest time from sowing in a tray to setting out, days.
const LONGEST_RAISING: i64 = 200;
/// The longest life of a planting in the bed that is not a slip of the year, days.
const LONGEST_LIFE: i64 = 3 * 366;

/// The names under which rows may speak of beds and crops.
#[derive(Debug)]
pub(crate) struct Known<'n> {
    /// Crops.
    pub(crate) crops: &'n Names<CropId>,
    /// Beds, if `beds.csv` names them; else the plantings do.
    pub(crate) beds: Option<&'n Names<BedId>>,
}

/// Plantings as read.
#[derive(Debug)]
pub(crate) struct Read<'a> {
    /// Plantings whose rows could be read, in the order of the file.
    pub(crate) plantings: Vec<Planting>,
    /// The cells that give their sizes, for later checks.
    pub(crate) sizes: Vec<Cell<'a>>,
    /// Names of all plantings.
    pub(crate) names: Names<PlantingId>,
    /// Beds that only the plantings name.
    pub(crate) new_beds: Vec<Bed>,
    /// Whether every row could be read.
    pub(crate) complete: bool,
    /// Plantings without a name, those of the same bed, crop and date together.
    pub(crate) twins: Vec<Vec<usize>>,
}

/// Makes the plantings.
pub(crate) fn read<'a>(
    source: &'a Source<'a>,
    known: &Known<'_>,
    order: DateOrder,
    findings: &mut Findings,
) -> Result<Read<'a>, Told> {
    let sheet = Sheet::read(source, SPEC, findings).ok_or(Told)?;
    if !SIZES.iter().any(|(column, _)| sheet.has(column))
        || !(sheet.has("sown") || sheet.has("set_out"))
    {
        findings.tell(
            super::problem::Problem::at(
                Kind::MissingColumn,
                source,
                source.header_span(),
                "the file says neither how much nor when",
            )
            .expected(
                "a column sown or set_out, and one of row_ft, row_m, area_sqft, area_m2, plants",
            ),
        );
        return Err(Told);
    }
    let reading = reading_of(&sheet, &["sown", "set_out", "cleared"], order, findings);
    let mut out = Read {
        plantings: Vec::new(),
        sizes: Vec::new(),
        names: Names::new(),
        new_beds: Vec::new(),
        complete: true,
        twins: Vec::new(),
    };
    let mut own_beds = Names::new();
    let mut given = Vec::new();
    for row in sheet.rows() {
        match planting(
            &row,
            known,
            &mut own_beds,
            &mut out.new_beds,
            reading,
            findings,
        ) {
            Ok((planting, size)) => {
                given.push(row.cell("planting").cloned());
                out.plantings.push(planting);
                out.sizes.push(size);
            }
            Err(Told) => {
                // A name counts even if its row cannot be read, so that the record's rows draw no complaint.
                if let Some(name) = row.cell("planting") {
                    out.names.add(&name.text, PlantingId(usize::MAX));
                }
                out.complete = false;
            }
        }
    }
    planting_names::given(&mut out, &given, findings);
    Ok(out)
}

fn planting<'a>(
    row: &Row<'a>,
    known: &Known<'_>,
    own_beds: &mut Names<BedId>,
    new_beds: &mut Vec<Bed>,
    reading: Reading,
    f: &mut Findings,
) -> Result<(Planting, Cell<'a>), Told> {
    let bed = row
        .need(f, "bed", "the name of a bed")
        .cloned()
        .and_then(|cell| bed_of(&cell, known.beds, own_beds, new_beds, f));
    let crop = row
        .need(f, "crop", "a crop of the crop table")
        .cloned()
        .and_then(|cell| crop_of(&cell, known.crops, f));
    let sown = row.date(f, "sown", reading);
    let set_out = row.date(f, "set_out", reading);
    let cleared = row.date(f, "cleared", reading);
    let size = size(row, f);
    let days = row.number(f, "days_to_maturity", &MATURITY);
    let factor = row.number(f, "yield_factor", &beds::FACTOR);
    let (sown, set_out, cleared) = (sown?, set_out?, cleared?);
    let start = set_out.or(sown).ok_or_else(|| {
        f.tell(
            row.problem_at(
                "sown",
                Kind::NoStart,
                "this row says neither when it was sown nor when it was set out",
            )
            .expected("a date under sown, set_out or both"),
        )
    })?;
    if let (Some(sown), Some(set_out)) = (sown, set_out)
        && (set_out < sown || (set_out - sown).num_days() > LONGEST_RAISING)
    {
        return Err(f.tell(out_of_order(
            row,
            "set_out",
            &format!("set out on {set_out}"),
            &format!("sown on {sown}"),
            set_out < sown,
        )));
    }
    if let Some(cleared) = cleared
        && (cleared <= start || (cleared - start).num_days() > LONGEST_LIFE)
    {
        let what = if set_out.is_some() { "set out" } else { "sown" };
        return Err(f.tell(out_of_order(
            row,
            "cleared",
            &format!("cleared on {cleared}"),
            &format!("{what} on {start}"),
            cleared <= start,
        )));
    }
    let (size, size_cell) = size?;
    let planting = Planting {
        name: String::new(),
        bed: bed?,
        crop: crop?,
        variety: row.text("variety"),
        sown,
        set_out,
        size,
        days_to_maturity: days?,
        yield_factor: factor?.unwrap_or(1.0),
        cleared,
    };
    Ok((planting, size_cell.clone()))
}

fn out_of_order(
    row: &Row<'_>,
    column: &str,
    later: &str,
    earlier: &str,
    before: bool,
) -> super::problem::Problem {
    let message = if before {
        format!("it is {later} and {earlier}: that is the wrong order")
    } else {
        format!("it is {later} and {earlier}: that is too long after")
    };
    let at = row.cell(column).map_or_else(
        || row.problem(Kind::WrongOrder, message.clone()),
        |cell| cell.problem(Kind::WrongOrder, message.clone()),
    );
    at.expected("dates in the order in which things happen")
        .hint("check the years and whether the two dates were exchanged")
}

fn bed_of(
    cell: &Cell<'_>,
    listed: Option<&Names<BedId>>,
    own: &mut Names<BedId>,
    new_beds: &mut Vec<Bed>,
    f: &mut Findings,
) -> Result<BedId, Told> {
    if let Some(listed) = listed {
        return listed.find_exact(&cell.text).ok_or_else(|| {
            let problem = cell.problem(
                Kind::UnknownBed,
                format!("`{}` is not in beds.csv", number::short(&cell.text)),
            );
            f.tell(problem.expected("a bed of beds.csv").hint(
                listed.hint(&cell.text).unwrap_or_else(|| {
                    format!("add a row for it; the beds are {}", some(listed.shown()))
                }),
            ))
        });
    }
    if let Some(id) = own.find_exact(&cell.text) {
        return Ok(id);
    }
    let id = BedId(new_beds.len());
    own.add(&cell.text, id);
    new_beds.push(beds::unknown(&cell.text));
    Ok(id)
}

/// Lists a few names.
pub(crate) fn some(names: &[String]) -> String {
    let few: Vec<&str> = names.iter().take(8).map(String::as_str).collect();
    if names.len() > few.len() {
        format!("{} and {} more", few.join(", "), names.len() - few.len())
    } else {
        few.join(", ")
    }
}

/// Finds the crop a cell names.
pub(crate) fn crop_of(
    cell: &Cell<'_>,
    crops: &Names<CropId>,
    f: &mut Findings,
) -> Result<CropId, Told> {
    crops.find(&cell.text).ok_or_else(|| {
        let problem = cell.problem(
            Kind::UnknownCrop,
            format!("`{}` is not in the crop table", number::short(&cell.text)),
        );
        let hint = super::slips::spreadsheet_debris(&cell.text)
            .and_then(|fault| fault.hint)
            .or_else(|| crops.hint(&cell.text))
            .unwrap_or_else(|| {
                "see `putby tables crops`, or add a row of your own to crops.csv".to_owned()
            });
        f.tell(problem.expected("a crop of the crop table").hint(hint))
    })
}

fn size<'a, 'r>(row: &'r Row<'a>, f: &mut Findings) -> Result<(Size, &'r Cell<'a>), Told> {
    let given: Vec<&Cell<'a>> = SIZES
        .iter()
        .filter_map(|(column, _)| row.cell(column))
        .collect();
    match given.as_slice() {
        [cell] => {
            let (column, span) = SIZES.iter().find(|(c, _)| *c == cell.column).ok_or(Told)?;
            let value = cell.number(f, span)?;
            let size = match *column {
                "row_ft" => Size::Row(units::length(value, "ft")),
                "row_m" => Size::Row(units::length(value, "m")),
                "area_sqft" => Size::Area(units::area(value, "sqft")),
                "area_m2" => Size::Area(units::area(value, "m2")),
                _ => Size::Plants(value),
            };
            Ok((size, cell))
        }
        [] => Err(f.tell(
            row.problem_at(
                "row_ft",
                Kind::NoSize,
                "this row does not say how much was planted",
            )
            .expected("one of row_ft, row_m, area_sqft, area_m2, plants"),
        )),
        [first, second, ..] => Err(f.tell(
            second
                .problem(
                    Kind::TwoSizes,
                    format!(
                        "the size is given under {} and under {}",
                        first.column, second.column
                    ),
                )
                .expected("one size")
                .hint("empty one of the two cells"),
        )),
    }
}
