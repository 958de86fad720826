//! The household's record, from `picked.csv`, `stores.csv` and `events.csv`, against the garden it belongs to.

use super::names::Names;
use super::plantings;
use super::problem::{Findings, Kind, Told};
use super::rows::Cell;
use super::text::Source;
use super::{events, number, picked, stores};
use crate::garden::Show;
use crate::garden::bed::BedId;
use crate::garden::crop::{Crop, CropId};
use crate::garden::household::Measure;
use crate::garden::planting::PlantingId;
use crate::garden::preserving::ProductId;
use crate::garden::record::Record;

/// The garden as far as the record's rows speak of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context<'t> {
    /// Crops; empty when one of them could not be read.
    pub(crate) crops: &'t [Crop],
    /// Their names.
    pub(crate) crop_names: &'t Names<CropId>,
    /// Names of beds.
    pub(crate) bed_names: &'t Names<BedId>,
    /// Plantings, if their file could be read.
    pub(crate) plantings: Option<&'t plantings::Read<'t>>,
    /// Names of products.
    pub(crate) product_names: &'t Names<ProductId>,
    /// Household measures.
    pub(crate) measures: &'t [Measure],
    /// Units and dates as the household writes them.
    pub(crate) show: Show,
}

impl Context<'_> {
    /// Finds the planting a cell names.
    pub(crate) fn planting(&self, cell: &Cell<'_>, f: &mut Findings) -> Result<PlantingId, Told> {
        let planted = self.plantings.ok_or(Told)?;
        match planted.names.find_exact(&cell.text) {
            Some(PlantingId(usize::MAX)) => Err(Told),
            Some(id) => Ok(id),
            None if !planted.complete => Err(Told),
            None => {
                let problem = cell.problem(
                    Kind::UnknownPlanting,
                    format!("there is no planting `{}`", number::short(&cell.text)),
                );
                let hint = planted.names.hint(&cell.text).unwrap_or_else(|| {
                    format!(
                        "the plantings are {}",
                        plantings::some(planted.names.shown())
                    )
                });
                Err(f.tell(
                    problem
                        .expected(
                            "the name of a planting: as in plantings.csv, else bed, crop and date",
                        )
                        .hint(hint),
                ))
            }
        }
    }
}

/// Reads the three files, those that are there.
pub(crate) fn read<'s>(
    get: impl Fn(&str) -> Option<&'s Source<'s>>,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<Record, Told> {
    let picked = get("picked.csv")
        .map(|s| picked::read(s, context, f))
        .transpose();
    let stores = get("stores.csv")
        .map(|s| stores::read(s, context, f))
        .transpose();
    let events = get("events.csv")
        .map(|s| events::read(s, context, f))
        .transpose();
    Ok(Record {
        picked: picked?.unwrap_or_default(),
        stores: stores?.unwrap_or_default(),
        events: events?.unwrap_or_default(),
    })
}
