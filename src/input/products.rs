//! Rows of the product table as products, each judged by the matrix of what may be preserved how.

use super::cells::{SHARE, Span};
use super::names::Names;
use super::problem::{Findings, Kind, Told};
use super::rows::Row;
use super::tables::Entry;
use super::{number, refusals};
use crate::garden::crop::{Crop, CropId};
use crate::garden::preserving::{Method, MethodId, Part, Product, ProductId};
use crate::garden::units::{Mass, Minutes, Volume};

const QUARTS: Span = Span::above_zero("quarts, such as 1", 100.0);
const POUNDS: Span = Span::above_zero("pounds, such as 1.5", 200.0);
const LOT: Span = Span::from_zero("pounds, such as 1", 200.0);
const HOURS: Span = Span::from_zero("hours, such as 24", 5000.0);
const MINUTES: Span = Span::from_zero("minutes, such as 3", 1000.0);
const MONTHS: Span = Span::above_zero("months, such as 10", 120.0);
const COUNT: Span = Span::between("a whole number of jars, such as 7", 1.0, 100.0);

/// What the tables above products hold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tables<'t> {
    /// Crops in force; empty when one of them could not be read.
    pub(crate) crops: &'t [Crop],
    /// Their names.
    pub(crate) crop_names: &'t Names<CropId>,
    /// Methods in force; empty when one of them could not be read.
    pub(crate) methods: &'t [Method],
    /// Their names.
    pub(crate) method_names: &'t Names<MethodId>,
}

/// Makes the products of the table in force and the list of their names.
pub(crate) fn read(
    entries: &[Entry<'_>],
    tables: Tables<'_>,
    findings: &mut Findings,
) -> (Vec<Product>, Names<ProductId>) {
    let mut names = Names::new();
    for (i, entry) in entries.iter().enumerate() {
        names.add(&entry.key, ProductId(i));
    }
    let products: Vec<_> = entries
        .iter()
        .map(|entry| {
            let product = product(entry, tables, &names, entries, findings)?;
            refusals::judge(entry, &product, tables, findings)?;
            Ok(product)
        })
        .collect();
    let all = products.into_iter().collect::<Result<Vec<_>, Told>>();
    (all.unwrap_or_default(), names)
}

fn product(
    entry: &Entry<'_>,
    tables: Tables<'_>,
    names: &Names<ProductId>,
    keys: &[Entry<'_>],
    f: &mut Findings,
) -> Result<Product, Told> {
    let row = &entry.row;
    let method = method_of(row, tables, f);
    let parts = parts(row, tables, f);
    let finish_as = finish_as(row, names, keys, f);
    let container = row
        .need(f, "container", "a container, such as quart bag")
        .map(|c| c.text.clone().into_owned());
    let container_qt = row.need_number(f, "container_qt", &QUARTS);
    let lb = row.need_number(f, "lb_per_container", &POUNDS);
    let halves = row.yes(f, "halves");
    let top_up = row.yes(f, "top_up");
    let least_lot = row.number(f, "least_lot_lb", &LOT);
    let within_hours = row.number(f, "within_hours", &HOURS);
    let load = row.number(f, "load_containers", &COUNT);
    let blanch = row.number(f, "blanch_min", &MINUTES);
    let published = match (entry.changes(&["blanch_min"]), &entry.built_in) {
        (Some(_), Some(built_in)) => built_in.number(f, "blanch_min", &MINUTES),
        _ => Ok(None),
    };
    let clock = row.number(f, "clock_min", &MINUTES);
    let extra = row.number(f, "extra_min_per_lb", &MINUTES);
    let dry_h = row.number(f, "dry_h", &HOURS);
    let follow_up_h = row.number(f, "follow_up_h", &HOURS);
    let best = row.number(f, "best_months", &MONTHS);
    let last = row.number(f, "last_months", &MONTHS);
    let bought = row.number(f, "bought_in_share", &SHARE);
    let method = method?;
    let usual = tables.methods.get(method.0).ok_or(Told)?;
    let bought_in_share = bought?.unwrap_or(0.0);
    if bought_in_share >= 1.0 {
        let problem = row
            .problem_at(
                "bought_in_share",
                Kind::BadShares,
                "nothing of this product comes from the garden",
            )
            .expected("a share below 1");
        return Err(f.tell(problem));
    }
    let best = best?;
    Ok(Product {
        name: entry.key.to_lowercase(),
        method,
        recipe: row.text("recipe"),
        parts: parts?,
        finish_as: finish_as?,
        container: container?,
        container_volume: Volume::from_qt(container_qt?),
        mass_per_container: Mass::from_lb(lb?),
        halves: halves?,
        top_up: top_up?,
        portion: row.text("portion"),
        least_lot: Mass::from_lb(least_lot?.unwrap_or(0.0)),
        within_hours: within_hours?,
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 1 and 100"
        )]
        load_containers: load?.map(|n| n.round() as u32),
        fixed_amounts: row.text("fixed_amounts"),
        blanch: blanch?.map(Minutes::from_min),
        blanch_published: published?.map(Minutes::from_min),
        clock: clock?.map(Minutes::from_min),
        extra_min_per_lb: Minutes::from_min(extra?.unwrap_or(0.0)),
        dry_h: dry_h?,
        follow_up: row.text("follow_up"),
        follow_up_h: follow_up_h?,
        best_months: best.unwrap_or(usual.best_months),
        last_months: last?
            .or(best)
            .map_or(usual.last_months, |m| m.max(best.unwrap_or(0.0))),
        bought_in: row.text("bought_in"),
        bought_in_share,
        caution: row.text("caution"),
    })
}

fn method_of(row: &Row<'_>, tables: Tables<'_>, f: &mut Findings) -> Result<MethodId, Told> {
    let cell = row
        .need(f, "method", "a method of the method table")?
        .clone();
    tables.method_names.find(&cell.text).ok_or_else(|| {
        let list = tables.method_names.shown().join(", ");
        let problem = cell.problem(
            Kind::UnknownMethod,
            format!("`{}` is not in the method table", number::short(&cell.text)),
        );
        let hint = tables
            .method_names
            .hint(&cell.text)
            .unwrap_or_else(|| format!("the methods are {list}"));
        f.tell(problem.expected("a method").hint(hint))
    })
}

fn finish_as(
    row: &Row<'_>,
    names: &Names<ProductId>,
    keys: &[Entry<'_>],
    f: &mut Findings,
) -> Result<Option<String>, Told> {
    let Some(cell) = row.cell("finish_as") else {
        return Ok(None);
    };
    match names.find(&cell.text) {
        Some(id) => Ok(keys.get(id.0).map(|entry| entry.key.to_lowercase())),
        None => {
            let problem = cell.problem(
                Kind::UnknownProduct,
                format!(
                    "`{}` is not in the product table",
                    number::short(&cell.text)
                ),
            );
            let problem = problem
                .expected("a product")
                .maybe_hint(names.hint(&cell.text));
            Err(f.tell(problem))
        }
    }
}

const EXPECTED_PARTS: &str = "crops with their shares, such as basil 0.5-1; kale 0-0.5";

/// Reads `basil 0.5-1; kale 0-0.5`, `bush bean 1` or `bush bean`.
fn parts(row: &Row<'_>, tables: Tables<'_>, f: &mut Findings) -> Result<Vec<Part>, Told> {
    let cell = row.need(f, "crops", EXPECTED_PARTS)?.clone();
    let mut parts: Vec<Part> = Vec::new();
    let mut sound = true;
    for item in row.list("crops") {
        let (name, shares) = match item.rsplit_once(' ') {
            Some((name, last)) if last.starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
                (name.trim(), last)
            }
            _ => (item.as_str(), "1"),
        };
        let (least, greatest) = shares
            .split_once(['-', '\u{2013}'])
            .unwrap_or((shares, shares));
        let share = |text: &str| number::parse(text).filter(|v| (0.0..=1.0).contains(v));
        let crop = tables.crop_names.find(name);
        match (crop, share(least), share(greatest)) {
            (Some(crop), Some(least), Some(greatest))
                if least <= greatest && parts.iter().all(|p| p.crop != crop) =>
            {
                parts.push(Part {
                    crop,
                    least,
                    greatest,
                })
            }
            (None, _, _) => {
                sound = false;
                let problem = cell.problem(
                    Kind::UnknownCrop,
                    format!("`{}` is not in the crop table", number::short(name)),
                );
                f.tell(
                    problem
                        .expected(EXPECTED_PARTS)
                        .maybe_hint(tables.crop_names.hint(name)),
                );
            }
            _ => {
                sound = false;
                f.tell(
                    cell.problem(
                        Kind::BadList,
                        format!(
                            "`{}` does not give a crop once with its least and greatest share",
                            number::short(&item)
                        ),
                    )
                    .expected(EXPECTED_PARTS),
                );
            }
        }
    }
    let (least, greatest) = parts
        .iter()
        .fold((0.0, 0.0), |(l, g), p| (l + p.least, g + p.greatest));
    if sound && (least > 1.0 + 1e-9 || greatest < 1.0 - 1e-9) {
        sound = false;
        let message = if least > 1.0 {
            format!("the least shares add up to {}", number::tidy(least))
        } else {
            format!(
                "even the greatest shares add up to {} only",
                number::tidy(greatest)
            )
        };
        f.tell(
            cell.problem(Kind::BadShares, message)
                .expected("shares of which some mixture makes 1"),
        );
    }
    if sound { Ok(parts) } else { Err(Told) }
}
