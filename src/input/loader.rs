//! Loads a garden: all files, all faults, in one go.
//!
//! Files come as a map from name to bytes, so that a folder, the embedded sample and a test go the same way.

use super::base::{self, Base};
use super::dates::Reading;
use super::keys::{self, Section};
use super::names::Names;
use super::problem::{Findings, Kind, Problem, Told};
use super::record::Context;
use super::sheets::{self, Kept};
use super::tables;
use super::text::{Source, decode};
use super::{beds, checks, goals, household, needs, planting_names, plantings, site};
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::tables::Tables;
use crate::garden::{DateOrder, Garden, Show};
use std::collections::BTreeMap;
use std::path::Path;

/// A garden's files: name to content.
#[derive(Debug, Clone, Default)]
pub struct Files {
    /// Name of the folder, shown if the site has none.
    pub name: String,
    /// Content by file name.
    pub content: BTreeMap<String, Vec<u8>>,
    /// Files that are there and could not be read, with the reason.
    pub unreadable: Vec<(String, String)>,
    /// Tables that were laid open from a workbook: name of the CSV file they stand for, and where they are kept.
    pub sheets: BTreeMap<String, Kept>,
}

/// Files of rows that a garden may hold.
pub const FILE_NAMES: [&str; 11] = [
    "plantings.csv",
    "beds.csv",
    "crops.csv",
    "methods.csv",
    "products.csv",
    "needs.csv",
    "goals.csv",
    "picked.csv",
    "stores.csv",
    "events.csv",
    "weather.csv",
];

/// Reads the files of a garden's folder, whatever they hold.
///
/// # Errors
/// The folder cannot be read.
pub fn read(folder: &Path) -> Result<Files, Vec<Problem>> {
    super::folder::read(folder)
}

/// Loads a garden from its folder.
///
/// # Errors
/// Every problem found in any file, in the order of the files.
pub fn load(folder: &Path) -> Result<Garden, Vec<Problem>> {
    load_files(&super::folder::read(folder)?)
}

/// Loads a garden from the content of its files.
///
/// # Errors
/// Every problem found in any file, in the order of the files.
pub fn load_files(files: &Files) -> Result<Garden, Vec<Problem>> {
    let mut findings = Findings::default();
    let open = sheets::laid_open(files, &mut findings);
    let garden = assemble(&open.files, &mut findings);
    open.tell_broken(&mut findings);
    let said = |sentences: Vec<String>| sentences.iter().map(|s| open.reworded(s)).collect();
    match garden {
        Ok(mut garden) if findings.problems.is_empty() => {
            garden.assumed = said(findings.assumed);
            garden.warnings = said(findings.warnings);
            Ok(garden)
        }
        _ => {
            let problems = in_order(findings.problems);
            Err(problems.into_iter().map(|p| open.named(p)).collect())
        }
    }
}

/// Sorts problems by file, the settings first, and within a file by line.
fn in_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    let rank = |name: &str| match FILE_NAMES.iter().position(|n| *n == name) {
        _ if name == "garden.toml" => 0,
        Some(i) => i + 1,
        None => FILE_NAMES.len() + 1,
    };
    problems.sort_by_cached_key(|p| (rank(&p.file), p.file.clone(), p.line, p.span.start));
    problems
}

/// The texts of a garden's files.
struct Texts<'b> {
    toml: Option<Source<'b>>,
    rows: BTreeMap<&'static str, Source<'b>>,
}

impl<'b> Texts<'b> {
    fn read(files: &'b Files, f: &mut Findings) -> Self {
        for (name, reason) in &files.unreadable {
            f.tell(
                Problem::of_file(
                    Kind::UnreadableFile,
                    name,
                    format!("{name} cannot be read: {reason}"),
                )
                .hint("check that it is a file, that it is there and that you may read it"),
            );
        }
        let toml = files
            .content
            .get("garden.toml")
            .and_then(|bytes| decode("garden.toml", bytes, f));
        let rows = FILE_NAMES
            .iter()
            .filter_map(|&name| Some((name, decode(name, files.content.get(name)?, f)?)))
            .collect();
        Self { toml, rows }
    }
    fn get(&self, name: &str) -> Option<&Source<'b>> {
        self.rows.get(name)
    }
}

fn assemble(files: &Files, f: &mut Findings) -> Result<Garden, Told> {
    let texts = Texts::read(files, f);
    super::folder::check_names(files, f);
    let Base {
        crops,
        crop_names,
        crop_keys,
        methods,
        products,
        product_names,
        texts: [c, m, p],
        ..
    } = base::read(|name| texts.get(name), f);
    let settings = settings(texts.toml.as_ref(), files, &crop_names, f);
    let show = settings.as_ref().map_or(Show::default(), |s| s.show);
    let order = show.dates;

    let beds_read = texts.get("beds.csv").map(|s| beds::read(s, order, f));
    let bed_names = match &beds_read {
        Some(Ok((_, names))) => Some(names.clone()),
        _ => None,
    };
    let known = plantings::Known {
        crops: &crop_names,
        beds: bed_names.as_ref(),
    };
    let mut planted = match texts.get("plantings.csv") {
        Some(source) => plantings::read(source, &known, order, f),
        None => Err(Told),
    };
    let mut beds = match beds_read {
        Some(Ok((beds, _))) => beds,
        _ => Vec::new(),
    };
    if let Ok(p) = &mut planted {
        beds.append(&mut p.new_beds);
        let bed_name = |id: BedId| beds.get(id.0).map_or_else(String::new, |b| b.name.clone());
        let crop_name = |id: CropId| crop_keys.get(id.0).cloned().unwrap_or_default();
        planting_names::made(p, bed_name, crop_name);
        checks::sizes(&p.plantings, &p.sizes, &beds, &crops, f);
        checks::crowding(&p.plantings, &beds, &crops, f);
    }
    let measures = settings
        .as_ref()
        .ok()
        .and_then(|s| s.household.as_ref().ok())
        .map_or(&[][..], |h| &h.measures);
    let needs = texts
        .get("needs.csv")
        .map(|s| needs::read(s, &crop_names, &crops, measures, order, f))
        .transpose();
    let goals = texts
        .get("goals.csv")
        .map(|s| goals::read(s, &product_names, &products, &methods, order, f))
        .transpose();
    let mut all_beds = Names::new();
    for (i, bed) in beds.iter().enumerate() {
        all_beds.add(&bed.name, BedId(i));
    }
    let context = Context {
        crops: &crops,
        crop_names: &crop_names,
        bed_names: &all_beds,
        plantings: planted.as_ref().ok(),
        product_names: &product_names,
        measures,
        show,
    };
    let record = super::record::read(|name| texts.get(name), context, f);

    let (settings, planted) = (settings?, planted?);
    if planted.plantings.is_empty() {
        f.warn("plantings.csv has no rows yet.");
    }
    let mut household = settings.household?;
    let mut grown: Vec<CropId> = planted.plantings.iter().map(|p| p.crop).collect();
    grown.sort_unstable();
    grown.dedup();
    household.needs = match needs? {
        Some(needs) => needs,
        None => needs::usual(&crops, &grown, household.people, f),
    };
    household.goals = goals?;
    if household.goals.is_none() {
        f.assume("There is no goals.csv; every crop goes to its usual product without limit.");
    }
    let site = settings.site?;
    Ok(Garden {
        name: if site.name.is_empty() {
            files.name.clone()
        } else {
            site.name.clone()
        },
        site,
        crops,
        methods,
        products,
        beds,
        plantings: planted.plantings,
        household,
        record: record?,
        as_of: settings.as_of?,
        show,
        tables: Tables {
            crops: c,
            methods: m,
            products: p,
            sources: tables::sources(),
        },
        assumed: Vec::new(),
        warnings: Vec::new(),
    })
}

/// What `garden.toml` says.
struct Settings {
    site: Result<crate::garden::site::Site, Told>,
    household: Result<crate::garden::household::Household, Told>,
    as_of: super::problem::Read<chrono::NaiveDate>,
    show: Show,
}

/// Tables and keys at the top of `garden.toml`.
const TABLES: [&str; 11] = [
    "site",
    "frost",
    "climate",
    "household",
    "kitchen",
    "on_hand",
    "away",
    "sowing",
    "show",
    "measures",
    "as_of",
];

fn settings(
    toml: Option<&Source>,
    files: &Files,
    crops: &Names<CropId>,
    f: &mut Findings,
) -> Result<Settings, Told> {
    let Some(source) = toml else {
        if !files.content.contains_key("garden.toml")
            && !files.unreadable.iter().any(|(n, _)| n == "garden.toml")
        {
            f.tell(
                Problem::of_file(Kind::MissingFile, "garden.toml", "there is no garden.toml")
                    .expected("a file with at least [site] latitude_deg and [frost] first_fall")
                    .hint("run `putby start` in the garden's folder to get one to begin with"),
            );
        }
        return Err(Told);
    };
    let (table, sound) = keys::parse(source, f);
    let root = Section::root(source, &table);
    if !sound {
        // Dates of the other files are still read in the stated order, if it can be made out.
        let show = household::show(&root, &mut Findings::default()).unwrap_or_default();
        return Ok(Settings {
            site: Err(Told),
            household: Err(Told),
            as_of: Err(Told),
            show,
        });
    }
    root.only(f, &TABLES);
    let show = household::show(&root, f).unwrap_or_default();
    let reading = match show.dates {
        DateOrder::Iso => Reading::Unknown,
        DateOrder::MonthFirst => Reading::MonthFirst,
        DateOrder::DayFirst => Reading::DayFirst,
    };
    let (mut site, weather) = site::read(&root, reading, files, f);
    super::weather::put_in(&mut site, &weather, files, show.dates, f);
    Ok(Settings {
        site,
        household: household::read(&root, reading, crops, f),
        as_of: root.get("as_of").map(|e| e.date(f, reading)).transpose(),
        show,
    })
}
