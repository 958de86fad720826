//! Tables as text with the source of every number, for showing a row to people.
//!
//! The typed rows live in their own files; this keeps what was written, so that it can be shown unchanged.

/// One table as written, after the household's overrides.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TextTable {
    /// Name of the table: crops, methods or products.
    pub name: String,
    /// Column names in order; the first is the key.
    pub columns: Vec<String>,
    /// Rows in order.
    pub rows: Vec<TextRow>,
}

/// One row of a table as written.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TextRow {
    /// Cells in the order of the columns; empty where not given.
    pub cells: Vec<String>,
    /// Which cells the household's own file gave.
    pub own: Vec<bool>,
}

/// Where one number of the built-in tables comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Table.
    pub table: String,
    /// Key of the row.
    pub row: String,
    /// Column.
    pub column: String,
    /// Publication or reason, in words.
    pub source: String,
    /// How it is known: read, from memory, derived, common practice, judgement.
    pub status: String,
}

/// The tables in force and the sources of the built-in numbers.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    /// Crops.
    pub crops: TextTable,
    /// Methods.
    pub methods: TextTable,
    /// Products.
    pub products: TextTable,
    /// Sources of the built-in numbers.
    pub sources: &'static [Source],
}

impl TextTable {
    /// Returns a row by its key.
    #[must_use]
    pub fn row(&self, key: &str) -> Option<&TextRow> {
        self.rows
            .iter()
            .find(|row| row.cells.first().is_some_and(|cell| cell == key))
    }
}
