//! The words of a card's steps: short plain sentences for a cook who was not there when the session was planned.
//!
//! A step says with which food, in what, how often, and how many containers come of it, so that nobody has to ask. That
//! blanching is counted from when the water boils again is the National Center for Home Food Preservation's (from memory).

use super::dated::DatedWork;
use super::order::{Kind, Step};
use crate::garden::preserving::{Appliance, Product, ProductId};
use crate::garden::safety::SafetyColumn;
use crate::garden::units::Mass;
use crate::garden::{Garden, UnitSystem};
use crate::kitchen::minutes;

/// Litres in a US gallon: 231 cubic inches (NIST Handbook 44).
const L_PER_GAL: f64 = 3.785_411_784;

/// Writes minutes as hours and minutes, to the nearest five.
pub(super) fn clock(minutes: f64) -> String {
    let fives = (minutes / 5.0).round().clamp(0.0, 2000.0) as u32 * 5;
    format!("{}:{:02}", fives / 60, fives % 60)
}

/// Writes an amount as a household would weigh it.
pub(super) fn amount(garden: &Garden, kg: f64) -> String {
    let mass = Mass::from_kg(kg);
    match garden.show.units {
        UnitSystem::Us => format!("{} lb", quarters(mass.lb().max(0.25))),
        UnitSystem::Metric => format!("{:.1} kg", kg),
    }
}

/// Writes a number in quarters: "1¼", "½", "12".
fn quarters(value: f64) -> String {
    let fours = (value * 4.0).round().clamp(0.0, 1e9) as u64;
    let part = ["", "¼", "½", "¾"][(fours % 4) as usize];
    match fours / 4 {
        0 if fours > 0 => part.to_owned(),
        whole => format!("{whole}{part}"),
    }
}

/// Writes a number of containers with their name: "4½ quart bags".
fn containers(garden: &Garden, work: &DatedWork) -> String {
    let product = garden.product(work.product);
    let method = garden.method(product.method);
    let rates = minutes::rates(product, method, &garden.household.kitchen, 0);
    let number = minutes::containers_begun(work.kg() * (1.0 - 1e-5), &rates);
    let more = if number > 1.0 { "s" } else { "" };
    format!("{} {}{more}", quarters(number), product.container)
}

fn crops(garden: &Garden, work: &DatedWork) -> String {
    let each: Vec<String> = (work.by_crop().iter())
        .map(|(crop, kg)| format!("{} of {}", amount(garden, *kg), garden.crop(*crop).name))
        .collect();
    each.join(" and ")
}

/// Puts a step into words; `again` says whether the pot was in use before it.
pub(super) fn words(garden: &Garden, work: &[DatedWork], step: &Step, again: bool) -> String {
    let of = |id: ProductId| work.iter().find(|w| w.product == id);
    let Some((product, entry)) = step
        .product
        .and_then(|id| Some((garden.product(id), of(id)?)))
    else {
        return match step.kind {
            Kind::Start => start(garden, work),
            Kind::PourBrine => "Pour the hot brine over the jars and close them.".to_owned(),
            _ => "Clean up and write the labels.".to_owned(),
        };
    };
    let food = crops(garden, entry);
    let name = &product.name;
    let fill = containers(garden, entry);
    match step.kind {
        Kind::Dryer => format!("Wash and cut {food}, and fill the dryer ({name})."),
        Kind::Canner => canner_words(garden, product, step, &food, &fill),
        Kind::RawPack => format!(
            "Wash and dry {food}, lay it on the trays in one layer and put them into the freezer ({name}, for {fill})."
        ),
        Kind::Pot => {
            let batches = step.batches.unwrap_or(1.0);
            let many = if batches > 1.0 { "batches" } else { "batch" };
            let water = if again { "in the same water, " } else { "" };
            let blanch = product.blanch.map_or(String::new(), |m| {
                let published = product.blanch_published.map_or(String::new(), |p| {
                    format!(" (your own; published {} min)", p.min_value())
                });
                let each = if batches > 1.0 { "each " } else { "" };
                format!(
                    ", {each}{} min{published} from when it boils again and as long in the ice",
                    m.min_value()
                )
            });
            format!(
                "Wash and trim {food}; blanch {water}in {batches} {many}{blanch}; drain and pack into {fill} ({name})."
            )
        }
        Kind::Processor => {
            let with = product.bought_in.as_ref().map_or(String::new(), |food| {
                format!(" with {food} as your recipe says")
            });
            format!(
                "Wash {food}, put it through the processor{with} and pack into {fill} ({name})."
            )
        }
        Kind::Jars => format!("Wash and slice {food}, and fill {fill} ({name})."),
        Kind::Start | Kind::PourBrine | Kind::CleanUp => String::new(),
    }
}

/// Words of a canner step: kitchen time in hours, and never a number of minutes beside it.
fn canner_words(garden: &Garden, product: &Product, step: &Step, food: &str, fill: &str) -> String {
    let method = garden.method(product.method);
    let kitchen = &garden.household.kitchen;
    let loads = step.batches.unwrap_or(1.0);
    let many = if loads > 1.0 { "loads" } else { "load" };
    let rates = minutes::rates(product, method, kitchen, 0);
    let hours = clock(loads * rates.clock_min).replacen(':', " h ", 1);
    let recipe = product.recipe.as_deref().unwrap_or("the tested recipe");
    format!(
        "Wash {food} and fill {fill}, {loads} {many} ({}): about {hours} of kitchen time at the canner; \
         minutes and pressure: your tested recipe ({recipe}), your jar size, your altitude.",
        product.name
    )
}

/// Words of the first step: what goes on the stove.
fn start(garden: &Garden, work: &[DatedWork]) -> String {
    let uses = |a: Appliance| {
        work.iter()
            .any(|w| garden.method(garden.product(w.product).method).appliance == a)
    };
    let brine = work.iter().any(|w| {
        let method = garden.method(garden.product(w.product).method);
        method.safety_column == Some(SafetyColumn::FridgePickle)
    });
    let (mut on, mut more) = (Vec::new(), Vec::new());
    if brine {
        on.push("the brine of your recipe".to_owned());
    }
    if uses(Appliance::Pot) {
        on.push(pots(garden));
        more.push("ice in the sink");
    }
    if uses(Appliance::Canner) {
        on.push("water for the canner".to_owned());
        more.push("jars hot");
    }
    if on.is_empty() {
        return "Clear the tables, food out.".to_owned();
    }
    more.push("tables cleared, food out");
    format!("Put on {}; {}.", on.join(" and "), more.join(", "))
}

/// Names the pots for blanching and the water in each.
fn pots(garden: &Garden) -> String {
    let kitchen = &garden.household.kitchen;
    let litres = kitchen.pot_volume.l();
    let water = match garden.show.units {
        UnitSystem::Us => format!("{} gal", quarters(litres / L_PER_GAL)),
        UnitSystem::Metric => format!("{} l", litres.round()),
    };
    if kitchen.pots > 1.0 {
        format!("{} big pots with {water} of water each", kitchen.pots)
    } else {
        format!("a big pot with {water} of water")
    }
}
