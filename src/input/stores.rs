//! Rows of `stores.csv`, the shelf log, as changes of the shelf.

use super::cells::Span;
use super::dates::{self, Reading, reading_of};
use super::goals::product_named;
use super::problem::{Findings, Kind, Told};
use super::record::Context;
use super::rows::{Row, Sheet, Spec};
use super::text::Source;
use crate::garden::record::StoreChange;

/// Columns of `stores.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &["date", "product", "change", "note"],
    required: &["date", "product", "change"],
    example: "date,product,change",
    paste_from: 3,
};

const CHANGE: Span = Span::between(
    "containers put in (7) or taken out (-1), halves allowed",
    -5000.0,
    5000.0,
);

/// Makes the changes.
pub(crate) fn read(
    source: &Source,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<Vec<StoreChange>, Told> {
    let sheet = Sheet::read(source, SPEC, f).ok_or(Told)?;
    let reading = reading_of(&sheet, &["date"], context.show.dates, f);
    let all: Vec<_> = sheet
        .rows()
        .map(|row| change(&row, context, reading, f))
        .collect();
    all.into_iter().collect()
}

fn change(
    row: &Row<'_>,
    context: Context<'_>,
    reading: Reading,
    f: &mut Findings,
) -> Result<StoreChange, Told> {
    let date = row
        .need(f, "date", dates::EXPECTED)
        .cloned()
        .and_then(|c| c.date(f, reading));
    let product = row
        .need(f, "product", "a product of the product table")
        .cloned()
        .and_then(|c| product_named(&c, &c.text, context.product_names, f));
    let change = row.need_number(f, "change", &CHANGE);
    let change = change?;
    if change == 0.0 {
        let cell = row.need(f, "change", "")?;
        return Err(f.tell(
            cell.problem(Kind::OutOfRange, "nothing was put in or taken out")
                .expected(CHANGE.what),
        ));
    }
    Ok(StoreChange {
        date: date?,
        product: product?,
        change,
        note: row.text("note"),
    })
}
