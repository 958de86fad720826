//! A plan of processing days as rows: the CSV that `sessions` writes, perhaps edited by hand, read back against the garden.
//!
//! Reads day, product, crops and amount, and any note; lengths, containers and days that the program wrote are worked out
//! anew by whoever uses the rows. Knows the place of everything, so that a breach can be told where it stands; what is a
//! breach belongs to others.

use super::cells::Span;
use super::dates::{self, reading_of};
use super::goals::product_named;
use super::names::Names;
use super::number;
use super::problem::{Findings, Kind, Problem, Told};
use super::rows::{Row, Sheet, Spec};
use super::text::{Source, decode};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use chrono::NaiveDate;
use std::path::Path;

/// Columns of a plan.
const SPEC: Spec<'_> = Spec {
    columns: &[
        "date",
        "minutes",
        "capacity_minutes",
        "order",
        "product",
        "crops",
        "kg",
        "containers",
        "best_by",
        "last_day",
        "chance_over",
        "note",
    ],
    required: &["date", "product", "kg"],
    example: "date,product,crops,kg",
    paste_from: 1,
};

const KG: Span = Span::above_zero("kilograms, such as 1.5", 1000.0);
const CROPS: &str =
    "crops, with their kilograms where there are several: bush bean 1.2; carrot 0.5";

/// Columns to which a breach can point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanColumn {
    /// The day.
    Date,
    /// The product.
    Product,
    /// The crops.
    Crops,
    /// The amount.
    Kg,
    /// The note.
    Note,
}

impl PlanColumn {
    const ALL: [(&'static str, Self); 5] = [
        ("date", Self::Date),
        ("product", Self::Product),
        ("crops", Self::Crops),
        ("kg", Self::Kg),
        ("note", Self::Note),
    ];
}

/// One product of one day.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanRow {
    /// Day.
    pub date: NaiveDate,
    /// Product.
    pub product: ProductId,
    /// Crops with their amounts in proportion; empty where the file names none, and no amounts where it gives none.
    pub crops: Vec<(CropId, Option<f64>)>,
    /// Amount in all, kg.
    pub kg: f64,
    /// Note.
    pub note: Option<String>,
    places: Vec<Problem>,
}

impl PlanRow {
    /// Makes the problem of a breach in one of the row's cells.
    #[must_use]
    pub fn breach(&self, column: PlanColumn, message: impl Into<String>) -> Problem {
        let mut problem = self.places[column as usize].clone();
        problem.message = message.into();
        problem
    }
}

/// Reads a plan from a file.
///
/// # Errors
/// Everything that cannot be read, each with its place.
pub fn load(garden: &Garden, path: &Path) -> Result<Vec<PlanRow>, Vec<Problem>> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| {
        vec![
            Problem::of_file(
                Kind::UnreadableFile,
                &name,
                format!("{name} cannot be read: {error}"),
            )
            .hint("`putby sessions --format csv -o plan.csv` writes such a file"),
        ]
    })?;
    read(garden, &name, &bytes)
}

/// Reads a plan from its bytes.
///
/// # Errors
/// Everything that cannot be read, each with its place.
pub fn read(garden: &Garden, name: &str, bytes: &[u8]) -> Result<Vec<PlanRow>, Vec<Problem>> {
    let mut findings = Findings::default();
    let rows = decode(name, bytes, &mut findings)
        .and_then(|source| rows(garden, &source, &mut findings).ok());
    match rows {
        Some(rows) if findings.problems.is_empty() => Ok(rows),
        _ => Err(findings.problems),
    }
}

fn rows(garden: &Garden, source: &Source, f: &mut Findings) -> Result<Vec<PlanRow>, Told> {
    let mut crops = Names::new();
    for (k, crop) in garden.crops.iter().enumerate() {
        crops.add(&crop.name, CropId(k));
    }
    for (k, crop) in garden.crops.iter().enumerate() {
        for name in &crop.also_called {
            crops.add_quietly(name, CropId(k));
        }
    }
    let mut products = Names::new();
    for (k, product) in garden.products.iter().enumerate() {
        products.add(&product.name, ProductId(k));
    }
    let sheet = Sheet::read(source, SPEC, f).ok_or(Told)?;
    let reading = reading_of(&sheet, &["date"], garden.show.dates, f);
    let all: Vec<_> = sheet
        .rows()
        .map(|row| {
            let date = row
                .need(f, "date", dates::EXPECTED)
                .cloned()
                .and_then(|c| c.date(f, reading));
            let product = row
                .need(f, "product", "a product of the product table")
                .cloned()
                .and_then(|c| {
                    let bare = without_guard(&c.text);
                    let text = if products.find(bare).is_some() {
                        bare
                    } else {
                        &c.text
                    };
                    product_named(&c, text, &products, f)
                });
            let kg = row.need_number(f, "kg", &KG);
            let of = crops_of(&row, &crops, f);
            Ok(PlanRow {
                date: date?,
                product: product?,
                crops: of?,
                kg: kg?,
                note: row.text("note"),
                places: (PlanColumn::ALL.iter())
                    .map(|(column, _)| row.problem_at(column, Kind::Breach, ""))
                    .collect(),
            })
        })
        .collect();
    all.into_iter().collect()
}

/// Reads "bush bean 1.2; carrot 0.5", or names alone.
fn crops_of(
    row: &Row<'_>,
    names: &Names<CropId>,
    f: &mut Findings,
) -> Result<Vec<(CropId, Option<f64>)>, Told> {
    let Some(cell) = row.cell("crops").cloned() else {
        return Ok(Vec::new());
    };
    let mut crops = Vec::new();
    let mut sound = Ok(());
    for item in row.list("crops") {
        let item = if names.find(&item).is_some() {
            &item
        } else {
            without_guard(&item)
        };
        let (name, kg) = match item.rsplit_once(' ') {
            // A name may end in a figure.
            _ if names.find(item).is_some() => (item, None),
            Some((name, last)) if last.starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
                (name.trim(), number::parse(last).filter(|kg| *kg > 0.0))
            }
            _ => (item, None),
        };
        match names.find(name) {
            Some(crop) => crops.push((crop, kg)),
            None => {
                let problem = cell.problem(
                    Kind::UnknownCrop,
                    format!("`{}` is not in the crop table", number::short(name)),
                );
                sound = Err(f.tell(problem.expected(CROPS).maybe_hint(names.hint(name))));
            }
        }
    }
    sound.map(|()| crops)
}

/// Takes away the apostrophe that is written before a name which a spreadsheet would take for a formula.
fn without_guard(text: &str) -> &str {
    let formula = |rest: &str| {
        rest.trim_start_matches('\'')
            .starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
    };
    match text.strip_prefix('\'') {
        Some(rest) if formula(rest) => rest,
        _ => text,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::input::{load_files, sample};

    fn garden() -> Garden {
        load_files(&sample::files()).unwrap()
    }

    #[test]
    fn a_plan_is_read_with_the_place_of_every_cell() {
        let text = "date,product,crops,kg,note\n\
                    2026-07-18,frozen beans,bush bean 1.2; pole beans 0.6,1.8,\n\
                    2026-07-22,pesto,basil,0.5,with walnuts\n";
        let rows = read(&garden(), "plan.csv", text.as_bytes()).unwrap();
        assert_eq!(rows.len(), 2);
        let parts: Vec<Option<f64>> = rows[0].crops.iter().map(|c| c.1).collect();
        assert_eq!(parts, [Some(1.2), Some(0.6)]);
        assert_eq!((rows[1].kg, rows[1].crops[0].1), (0.5, None));
        let breach = rows[1].breach(PlanColumn::Kg, "too much");
        assert_eq!((breach.line, breach.value.as_str()), (Some(3), "0.5"));
        assert_eq!(breach.column.as_deref(), Some("kg"));
    }

    #[test]
    fn what_cannot_be_read_is_told_all_at_once() {
        let text = "date,product,crops,kg\n\
                    2026-07-40,frozen beens,bush bean,1\n\
                    2026-07-22,pesto,basill,-1\n";
        let problems = read(&garden(), "plan.csv", text.as_bytes()).unwrap_err();
        let kinds: Vec<Kind> = problems.iter().map(|p| p.kind).collect();
        for kind in [
            Kind::ImpossibleDate,
            Kind::UnknownProduct,
            Kind::UnknownCrop,
        ] {
            assert!(kinds.contains(&kind), "{kinds:?}");
        }
        assert_eq!(kinds.len(), 4, "{kinds:?}");
    }

    /// What `sessions` writes of such names is read as it was meant.
    #[test]
    fn names_that_end_in_a_figure_or_begin_as_a_formula() {
        let mut files = sample::files();
        let crops = super::super::tables::CROPS;
        let (header, rows) = crops.split_once('\n').unwrap();
        let arugula = rows.lines().find(|l| l.starts_with("arugula,")).unwrap();
        let own = arugula.replacen("arugula", "arugula 2", 1);
        (files.content).insert("crops.csv".into(), format!("{header}\n{own}\n").into());
        let products = files.content.get_mut("products.csv").unwrap();
        let mix = "+1 mix,freeze raw,kale 0-1; okra 0-1,quart bag,1,2";
        products.extend_from_slice(mix.as_bytes());
        let garden = load_files(&files).unwrap_or_else(|p| panic!("{p:?}"));
        let text = "date,product,crops,kg\n\
                    2026-07-18,frozen beans,arugula 2,1\n\
                    2026-07-22,'+1 mix,arugula 2 0.5; kale 0.25,1\n";
        let rows = read(&garden, "plan.csv", text.as_bytes()).unwrap();
        let name = |crop: CropId| garden.crop(crop).name.as_str();
        assert_eq!(name(rows[0].crops[0].0), "arugula 2");
        assert_eq!(rows[0].crops[0].1, None);
        assert_eq!(garden.product(rows[1].product).name, "+1 mix");
        assert_eq!(name(rows[1].crops[0].0), "arugula 2");
        assert_eq!(
            (rows[1].crops[0].1, rows[1].crops[1].1),
            (Some(0.5), Some(0.25))
        );
    }
}
