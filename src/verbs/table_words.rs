//! What every column of the built-in tables means, in plain words, with its unit and the group it is shown in.
//!
//! A list and nothing else: it reads no table and shows none. A test holds it against the tables' own columns.

/// What one column means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Words {
    /// Column in the table.
    pub(super) column: &'static str,
    /// Its unit; empty for words and bare figures.
    pub(super) unit: &'static str,
    /// What it means.
    pub(super) means: &'static str,
}

/// Columns that are read together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    /// Heading.
    pub(super) name: &'static str,
    /// Its columns, in the order in which people read them.
    pub(super) words: Vec<Words>,
}

/// The columns of `crops.csv`: a heading after `#`, then column, unit and meaning.
const CROPS: &str = "\
# What it is
crop |  | name
also_called |  | other names that are understood
group |  | food group, for needs
family |  | family, for what may follow it in a bed
safety_row |  | row of the safety matrix; without one it is never canned
put_by |  | usual product when there are no goals
units |  | what a bunch, a head or one weighs
note |  | note
# Timing
days_sown | days | from sowing to the first picking, in good growing weather
days_set_out | days | from setting out to the first picking, in good growing weather
raise_days | days | to raise a plant for setting out
days_cv |  | how far one sowing strays from those days, as a share of them
clock |  | what ripens it: growth in warm light days, or the calendar
baby_at |  | share of those days after which it gives baby leaves or small heads
# Growth
base_c | °C | no growth below this mean of a day
full_c | °C | full growth from this mean of a day
ceiling_c | °C | heat slows it above this mean
day_length |  | whether short days slow it
up_base_c | °C | seed stirs above this soil
up_degree_days_c | degree-days °C | warmth above that until it is up
soil_min_c | °C | coldest soil in which at least half comes up
soil_max_c | °C | warmest soil in which at least half comes up
# Harvest
pattern |  | how it is picked: once, as leaves, as fruit, as roots
harvest_days | days | from the first picking to the last
pick_every_days | days | between pickings
shape | % | how the yield falls on equal parts of the harvest, first to last
holds_days | days | it may stand ready in the bed and stay good
usable_early |  | whether it is taken small when growth stops or an end is near
# What ends it
killed_below_f | °F | a night this cold kills it
spoiled_below_f | °F | a night this cold spoils what stands, and the plant lives
bolts_above_c | °C | days warmer than this bring it to bolt
bolts_above_hours | hours | lengthening days longer than this bring it to bolt
bolts_after_cold_days | days | only after so many cold days
bolt_growing_days | growing days | so much growth in such heat or light until it bolts
early_end_chance |  | share of plantings that pests or disease end early
early_end_from_days | days | that happens from this age on
strip_share |  | of two weeks' pickings, the share stripped on the eve of frost
# Second food
also |  | what the same planting also gives
also_share |  | its weight as a share of the main crop's
also_from |  | share of the days to maturity after which it begins
also_delay_days | days | taking it puts the main crop off by
# Yield
lb_per_100ft_low | lb | a poor yield of 100 ft of row
lb_per_100ft_high | lb | a good yield of 100 ft of row
bed_lb_per_sqft_low | lb a sq ft | a poor yield of a raised bed
bed_lb_per_sqft_high | lb a sq ft | a good yield of a raised bed
in_row_in | inches | between plants in a row
between_rows_in | inches | between rows
bed_spacing_in | inches | between plants each way in a raised bed
yield_cv |  | how far one season strays from the middle yield, as a share of it
fail_chance |  | share of plantings that come to nothing
seed_per_100ft |  | seed or plants for 100 ft of row
# Kitchen
best_days | days | at its best in the refrigerator
last_days | days | still fit to eat or put by; then it is past its best
prep_min_per_lb | minutes | to wash, trim and cut a pound
pick_min_per_lb | minutes | to pick a pound
need_lb_per_person_week | lb | eaten fresh by one person in a week, when no needs are given";

/// The columns of `methods.csv`.
const METHODS: &str = "\
# What it is
method |  | name
safety_column |  | column of the safety matrix
store |  | where its products are kept
appliance |  | what it occupies
needs_altitude |  | whether it is left out until the altitude of the place is given
note |  | note
# Minutes
setup_group |  | methods of the same group share one set-up in a session
setup_min | minutes | to set up and clean up
setup_more_min | minutes | for each further product of the group that day
per_batch_min | minutes | of hand work for each batch or canner load
per_container_min | minutes | to fill, wipe and label one container
batch_lb_per_gal | lb | that a usable gallon of the pot takes at a time
batch_extra_min | minutes | on the pot for each batch beside the blanching
overhead_pint_min | minutes | on the canner for each load of pints beside the processing
overhead_quart_min | minutes | on the canner for each load of quarts beside the processing
wait_h | hours | until it can be put away, mostly unattended
# Keeping
best_months | months | at its best
last_months | months | to be used up within
packed_lb_per_ft3 | lb | that a cubic foot of freezer holds packed";

/// The columns of `products.csv`.
const PRODUCTS: &str = "\
# What it is
product |  | name
method |  | method
recipe |  | whose recipe it follows
crops |  | its crops, each with its least and greatest share
finish_as |  | what it may be made into later
container |  | container
container_qt | qt | that a container holds
lb_per_container | lb | as picked that go into one container
halves |  | whether half containers are usual
top_up |  | whether a container once begun may be filled up another day
portion |  | what a container serves
note |  | note
# Limits
least_lot_lb | lb | the least for which it is worth setting up
within_hours | hours | after picking within which it must be made
load_containers | jars | in one full load of the canner
fixed_amounts |  | amounts that its recipe fixes
# Minutes
blanch_min | minutes | in boiling water
clock_min | minutes | of kitchen time for one load; never a process time
extra_min_per_lb | minutes | a pound on top of the crop's own preparation
dry_h | hours | in the dryer
follow_up |  | what is left to do later
follow_up_h | hours | until then
# On the shelf
best_months | months | at its best
last_months | months | to be used up within
bought_in |  | what is bought for it
bought_in_share |  | share of a container that is bought
caution |  | caution";

/// Returns the words of a table, group by group.
pub(super) fn groups(table: &str) -> Vec<Group> {
    let list = match table {
        "crops" => CROPS,
        "methods" => METHODS,
        _ => PRODUCTS,
    };
    let mut groups: Vec<Group> = Vec::new();
    for line in list.lines() {
        if let Some(name) = line.strip_prefix("# ") {
            groups.push(Group {
                name,
                words: Vec::new(),
            });
            continue;
        }
        let mut parts = line.splitn(3, " | ");
        if let (Some(column), Some(unit), Some(means), Some(group)) =
            (parts.next(), parts.next(), parts.next(), groups.last_mut())
        {
            group.words.push(Words {
                column,
                unit,
                means,
            });
        }
    }
    groups
}

/// How a figure is known, from the word of `data/sources.csv` to the reader's.
pub(super) fn status(written: &str) -> &str {
    match written {
        "read" => "published",
        "derived" => "worked out",
        other => other,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn every_column_has_its_words_and_every_word_its_column() {
        for (table, text) in [
            ("crops", include_str!("../../data/crops.csv")),
            ("methods", include_str!("../../data/methods.csv")),
            ("products", include_str!("../../data/products.csv")),
        ] {
            let groups = groups(table);
            let mut columns: Vec<&str> = text.lines().next().unwrap().split(',').collect();
            let mut told: Vec<&str> = groups
                .iter()
                .flat_map(|g| g.words.iter().map(|w| w.column))
                .collect();
            columns.sort_unstable();
            told.sort_unstable();
            assert_eq!(columns, told);
            for w in groups.iter().flat_map(|g| &g.words) {
                assert!(
                    (3..=70).contains(&w.means.len()),
                    "{}: not one short line",
                    w.column
                );
                assert!(!w.means.contains(['_', '|']), "{}", w.column);
            }
        }
    }
}
