//! Rows of `goals.csv` as goals, the preferred first.

use super::cells::Span;
use super::dates::{Reading, reading_of};
use super::names::Names;
use super::number;
use super::problem::{Findings, Kind, Told};
use super::rows::{Cell, Row, Sheet, Spec};
use super::text::Source;
use crate::garden::DateOrder;
use crate::garden::household::Goal;
use crate::garden::preserving::{Method, Product, ProductId, Store};

/// Columns of `goals.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &["product", "containers", "by", "eat_per_week", "note"],
    required: &["product"],
    example: "product,containers",
    paste_from: 1,
};

const CONTAINERS: Span = Span::between("a number of containers, such as 24", 0.0, 5000.0);
const EATEN: Span = Span::between("containers a week, such as 1", 0.0, 500.0);

/// Makes the goals.
pub(crate) fn read(
    source: &Source,
    names: &Names<ProductId>,
    products: &[Product],
    methods: &[Method],
    order: DateOrder,
    findings: &mut Findings,
) -> Result<Vec<Goal>, Told> {
    let sheet = Sheet::read(source, SPEC, findings).ok_or(Told)?;
    let reading = reading_of(&sheet, &["by"], order, findings);
    let all: Vec<_> = sheet
        .rows()
        .map(|row| goal(&row, names, products, methods, reading, findings))
        .collect();
    all.into_iter().collect()
}

fn goal(
    row: &Row<'_>,
    names: &Names<ProductId>,
    products: &[Product],
    methods: &[Method],
    reading: Reading,
    f: &mut Findings,
) -> Result<Goal, Told> {
    let chosen = row
        .need(f, "product", "a product, or several separated by |")
        .cloned()
        .and_then(|cell| alternatives(&cell, names, f));
    let containers = row.number(f, "containers", &CONTAINERS);
    let by = row.date(f, "by", reading);
    let eaten = row.number(f, "eat_per_week", &EATEN);
    let (chosen, containers, eaten) = (chosen?, containers?, eaten?);
    let in_fridge = |id: &ProductId| {
        products
            .get(id.0)
            .and_then(|p| methods.get(p.method.0))
            .is_some_and(|m| m.store == Store::Fridge)
    };
    let fridge = chosen.iter().all(in_fridge);
    match (fridge, containers, eaten) {
        (true, Some(n), _) if n > 0.0 => {
            let cell = row.need(f, "containers", "")?;
            Err(f.tell(
                cell.problem(
                    Kind::OutOfRange,
                    "a refrigerator product does not keep over winter and has no number to reach",
                )
                .expected("an empty cell here, and a number under eat_per_week")
                .hint("it is made in rotation for what is eaten in a week"),
            ))
        }
        (true, _, None) => Err(f.tell(
            row.problem_at(
                "eat_per_week",
                Kind::MissingCell,
                "a refrigerator product needs to know how much of it is eaten",
            )
            .expected(EATEN.what),
        )),
        (false, None, _) => Err(f.tell(
            row.problem_at("containers", Kind::MissingCell, "this goal has no number")
                .expected(CONTAINERS.what),
        )),
        _ => Ok(Goal {
            products: chosen,
            containers: containers.unwrap_or(0.0),
            by: by?,
            eat_per_week: eaten,
        }),
    }
}

fn alternatives(
    cell: &Cell<'_>,
    names: &Names<ProductId>,
    f: &mut Findings,
) -> Result<Vec<ProductId>, Told> {
    let mut chosen = Vec::new();
    let mut sound = true;
    for name in cell.text.split('|').map(str::trim) {
        match product_named(cell, name, names, f) {
            Ok(id) if chosen.contains(&id) => {
                sound = false;
                f.tell(
                    cell.problem(Kind::RepeatedName, format!("`{name}` stands here twice"))
                        .expected("alternatives that differ, separated by |"),
                );
            }
            Ok(id) => chosen.push(id),
            Err(Told) => sound = false,
        }
    }
    if sound { Ok(chosen) } else { Err(Told) }
}

/// Finds a product by its name.
pub(crate) fn product_named(
    cell: &Cell<'_>,
    name: &str,
    names: &Names<ProductId>,
    f: &mut Findings,
) -> Result<ProductId, Told> {
    names.find(name).ok_or_else(|| {
        let problem = cell.problem(
            Kind::UnknownProduct,
            format!("`{}` is not in the product table", number::short(name)),
        );
        let hint = names.hint(name).unwrap_or_else(|| {
            "see `putby tables products`, or add a row of your own to products.csv".to_owned()
        });
        f.tell(
            problem
                .expected("a product of the product table")
                .hint(hint),
        )
    })
}
