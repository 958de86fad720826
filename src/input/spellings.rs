//! A few spellings that come again and again in a long file, remembered with what they mean.
//!
//! Knows nothing of meanings: whoever asks says how a spelling is looked up that is not remembered.

/// A cell with its first sixteen bytes as one number, which is quicker to compare.
#[derive(Clone, Copy)]
pub(crate) struct Cell<'t> {
    /// Its bytes.
    pub(crate) bytes: &'t [u8],
    key: u128,
}

impl<'t> Cell<'t> {
    /// The empty cell.
    pub(crate) const EMPTY: Self = Self { bytes: &[], key: 0 };

    /// Takes the bytes from one place of a text to another, none for no bytes.
    #[inline]
    pub(crate) fn of(text: &'t [u8], from: usize, end: usize) -> Self {
        let bytes = &text[from..end];
        if bytes.is_empty() {
            return Self::EMPTY;
        }
        let first = text[from..].first_chunk().copied().unwrap_or_else(|| {
            let mut first = [0; 16];
            first[..bytes.len().min(16)].copy_from_slice(&bytes[..bytes.len().min(16)]);
            first
        });
        let unused = 128 - 8 * u32::try_from(bytes.len()).map_or(16, |len| len.min(16));
        let key = u128::from_le_bytes(first) & (u128::MAX >> unused);
        Self { bytes, key }
    }

    #[inline]
    fn equals(self, other: Cell<'_>) -> bool {
        let len = self.bytes.len();
        self.key == other.key
            && len == other.bytes.len()
            && (len <= 16 || self.bytes == other.bytes)
    }
}

/// Spellings with what they mean: the last two of each of some sets.
pub(crate) struct Spellings<'t, T, const SETS: usize = 64>([[Spelling<'t, T>; 2]; SETS]);

#[derive(Clone, Copy)]
struct Spelling<'t, T> {
    cell: Cell<'t>,
    /// What else the meaning depends on, as a unit's on the crop.
    beside: usize,
    means: Option<T>,
}

impl<'t, T: Copy, const SETS: usize> Spellings<'t, T, SETS> {
    /// Remembers nothing yet.
    pub(crate) fn new() -> Self {
        // An empty cell has no meaning here.
        let empty = Spelling {
            cell: Cell::EMPTY,
            beside: 0,
            means: None,
        };
        Self([[empty; 2]; SETS])
    }

    /// Returns what a cell means; `find` says it where it is not remembered.
    #[inline]
    pub(crate) fn find(
        &mut self,
        cell: Cell<'t>,
        beside: usize,
        find: impl FnOnce(&str) -> Option<T>,
    ) -> Option<T> {
        let folded = cell.key as u64 ^ (cell.key >> 64) as u64 ^ beside as u64;
        let mixed = folded.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 32;
        let set = &mut self.0[mixed as usize % SETS];
        if let Some(known) = set
            .iter()
            .find(|s| s.beside == beside && s.cell.equals(cell))
        {
            return known.means;
        }
        set[1] = set[0];
        set[0] = Spelling {
            cell,
            beside,
            means: str::from_utf8(cell.bytes).ok().and_then(find),
        };
        set[0].means
    }
}
