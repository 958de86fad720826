//! Safe writing: a file is made new, replaced as a whole, or not touched at all.
//!
//! Bytes go to a temporary file in the same folder, are synced, and then take the place in one step.

use std::fs;
use std::io::{self, Write};
use std::path::Path;
use tempfile::NamedTempFile;

/// Writes a temporary file beside a place and syncs it.
fn beside(path: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut file = NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}
/// x
pub fn create(path: &Path, bytes: &[u8]) -> io::Result<()> {
    beside(path, bytes)?.persist_noclobber(path)?;
    Ok(())
}
/// x
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let _ = fs::metadata(path);
    beside(path, bytes)?.persist(path)?;
    Ok(())
}
