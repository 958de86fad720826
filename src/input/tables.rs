//! The crop, method and product tables in force: the built-in rows with the household's own laid over them.
//!
//! A household's row is found by its first column and need hold only what differs. Keeps every cell as written, with the
//! sources of the built-in numbers; what cells mean belongs to [`super::crops`], [`super::methods`] and [`super::products`].

use super::names::plain;
use super::problem::{Findings, Kind};
use super::rows::{Row, Sheet, Spec};
use super::text::Source;
use crate::garden::tables::{Source as Origin, TextRow, TextTable};
use std::collections::HashMap;
use std::sync::LazyLock;

/// The built-in tables as they are embedded.
pub(crate) const CROPS: &str = include_str!("../../data/crops.csv");
/// The built-in methods.
pub(crate) const METHODS: &str = include_str!("../../data/methods.csv");
/// The built-in products.
pub(crate) const PRODUCTS: &str = include_str!("../../data/products.csv");
/// The sources of the built-in numbers.
const SOURCES: &str = include_str!("../../data/sources.csv");

/// One row in force.
#[derive(Debug, Clone)]
pub(crate) struct Entry<'a> {
    /// Its name as written.
    pub(crate) key: String,
    /// All its cells, the household's over the built-in ones.
    pub(crate) row: Row<'a>,
    /// The built-in row, if there is one.
    pub(crate) built_in: Option<Row<'a>>,
    /// The household's row, if there is one.
    pub(crate) own: Option<Row<'a>>,
}

impl Entry<'_> {
    /// Says whether the household's row changes any of some columns of a built-in row.
    pub(crate) fn changes<'c>(&self, columns: &[&'c str]) -> Option<&'c str> {
        let (own, base) = (self.own.as_ref()?, self.built_in.as_ref()?);
        columns.iter().copied().find(|c| {
            own.cell(c).is_some_and(|new| {
                base.cell(c)
                    .is_none_or(|old| plain(&old.text) != plain(&new.text))
            })
        })
    }
}

/// A table in force.
#[derive(Debug)]
pub(crate) struct Merged<'a> {
    /// Rows, the built-in ones first.
    pub(crate) entries: Vec<Entry<'a>>,
    /// The same as text.
    pub(crate) text: TextTable,
}

/// Makes the source of a built-in table.
pub(crate) fn built_in<'t>(name: &str, text: &'t str) -> Source<'t> {
    Source::from_text(&format!("built-in {name}"), text)
}

/// Lays the household's rows over the built-in ones.
pub(crate) fn merge<'a>(
    name: &str,
    columns: &'a [&'a str],
    base: &'a Source<'a>,
    own: Option<&'a Source<'a>>,
    findings: &mut Findings,
) -> Merged<'a> {
    let spec = Spec {
        columns,
        required: &columns[..1],
        example: columns[0],
        paste_from: 1,
    };
    let mut entries: Vec<Entry<'a>> = Vec::new();
    let mut places: HashMap<String, usize> = HashMap::new();
    for (is_own, source) in [(false, Some(base)), (true, own)] {
        let Some(sheet) = source.and_then(|s| Sheet::read(s, spec, findings)) else {
            continue;
        };
        let first = entries.len();
        for row in sheet.rows() {
            let Ok(key) = row
                .need(findings, columns[0], "the name of a row")
                .map(|c| c.text.clone().into_owned())
            else {
                continue;
            };
            let found = places.get(plain(&key).as_ref()).copied();
            match found {
                Some(i) if is_own && i < first && entries[i].own.is_none() => {
                    entries[i].row = row.over(&entries[i].row);
                    entries[i].own = Some(row);
                }
                Some(_) => {
                    findings.tell(
                        row.problem_at(
                            columns[0],
                            Kind::RepeatedName,
                            format!("`{key}` has a row here already"),
                        )
                        .hint("put everything about it into one row"),
                    );
                }
                None => {
                    places.insert(plain(&key).into_owned(), entries.len());
                    entries.push(Entry {
                        key,
                        row: row.clone(),
                        built_in: (!is_own).then(|| row.clone()),
                        own: is_own.then_some(row),
                    });
                }
            }
        }
    }
    let rows = entries.iter().map(|e| text_row(e, columns)).collect();
    Merged {
        text: TextTable {
            name: name.to_owned(),
            columns: columns.iter().map(|c| (*c).to_owned()).collect(),
            rows,
        },
        entries,
    }
}

fn text_row(entry: &Entry<'_>, columns: &[&str]) -> TextRow {
    TextRow {
        cells: columns
            .iter()
            .map(|c| entry.row.text(c).unwrap_or_default())
            .collect(),
        own: columns
            .iter()
            .map(|c| entry.own.as_ref().is_some_and(|own| own.cell(c).is_some()))
            .collect(),
    }
}

/// Returns the columns of a built-in table, from its header.
pub(crate) fn columns(text: &'static str) -> Vec<&'static str> {
    text.lines().next().unwrap_or_default().split(',').collect()
}

/// Returns the sources of the built-in numbers, read once: they are the longest table and the same for every garden.
pub(crate) fn sources() -> &'static [Origin] {
    static READ: LazyLock<Vec<Origin>> = LazyLock::new(|| {
        let source = built_in("sources", SOURCES);
        let spec = Spec {
            columns: &["table", "row", "column", "source", "status"],
            required: &["table", "row", "column", "source", "status"],
            example: "table,row,column,source,status",
            paste_from: 1,
        };
        let mut findings = Findings::default();
        let sheet = Sheet::read(&source, spec, &mut findings);
        assert!(findings.problems.is_empty(), "the embedded table is sound");
        let sheet = sheet.expect("a sound table has its columns");
        let get = |row: &Row<'_>, column| row.text(column).unwrap_or_default();
        sheet
            .rows()
            .map(|row| Origin {
                table: get(&row, "table"),
                row: get(&row, "row"),
                column: get(&row, "column"),
                source: get(&row, "source"),
                status: get(&row, "status"),
            })
            .collect()
    });
    &READ
}
