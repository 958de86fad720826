//! The words of a card's steps: short plain sentences for the cook.

use super::dated::DatedWork;
use super::order::{Kind, Step};
use crate::garden::preserving::{Appliance, Product, ProductId};
use crate::garden::safety::SafetyColumn;
use crate::garden::units::Mass;
use crate::garden::{Garden, UnitSystem};
use crate::kitchen::minutes;

/// Writes minutes as hours and minutes, to the nearest five.
pub(super) fn clock(minutes: f64) -> String {
    let fives = (minutes / 5.0).round().clamp(0.0, 2000.0) as u32 * 5;
    format!("{}:{:02}", fives / 60, fives % 60)
}

/// Writes an amount as a household would weigh it.
pub(super) fn amount(garden: &Garden, kg: f64) -> String {
    let mass = Mass::from_kg(kg);
    match garden.show.units {
        UnitSystem::Us => format!("{} lb", quarters(mass.lb())),
        UnitSystem::Metric => format!("{:.1} kg", kg),
    }
}

/// Rounds to quarters and writes them without needless noughts.
fn quarters(value: f64) -> String {
    let rounded = ((value * 4.0).round() / 4.0).max(0.25);
    format!("{rounded}")
}

fn crops(garden: &Garden, work: &DatedWork) -> String {
    let each: Vec<String> = (work.by_crop().iter())
        .map(|(crop, kg)| format!("{} {}", amount(garden, *kg), garden.crop(*crop).name))
        .collect();
    each.join(" and ")
}

/// Puts a step into words.
pub(super) fn words(garden: &Garden, work: &[DatedWork], step: &Step) -> String {
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
    match step.kind {
        Kind::Dryer => format!("Cut {food} and fill the dryer ({name})."),
        Kind::Canner => canner_words(garden, product, step, &food),
        Kind::RawPack => format!("Pack {food} raw on the trays ({name})."),
        Kind::Pot => {
            let batches = step.batches.unwrap_or(1.0);
            let many = if batches > 1.0 { "batches" } else { "batch" };
            let blanch = product.blanch.map_or(String::new(), |m| {
                let published = product.blanch_published.map_or(String::new(), |p| {
                    format!(" (your own; published {} min)", p.min_value())
                });
                format!(
                    ", {} min each{published}, as long in the ice",
                    m.min_value()
                )
            });
            format!("Blanch {food}, {batches} {many}{blanch}; drain and pack ({name}).")
        }
        Kind::Processor => format!("Put {food} through the processor and pack ({name})."),
        Kind::Jars => format!("Slice {food} and fill the jars ({name})."),
        Kind::Start | Kind::PourBrine | Kind::CleanUp => String::new(),
    }
}

/// Words of a canner step: kitchen time in hours, and never a number of minutes beside it.
fn canner_words(garden: &Garden, product: &Product, step: &Step, food: &str) -> String {
    let method = garden.method(product.method);
    let kitchen = &garden.household.kitchen;
    let loads = step.batches.unwrap_or(1.0);
    let many = if loads > 1.0 { "loads" } else { "load" };
    let rates = minutes::rates(product, method, kitchen, 0);
    let hours = clock(loads * rates.clock_min).replacen(':', " h ", 1);
    let recipe = product.recipe.as_deref().unwrap_or("the tested recipe");
    format!(
        "Fill the jars with {food}, {loads} {many} ({}): about {hours} of kitchen time at the canner; \
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
    let mut on = Vec::new();
    if brine {
        on.push("brine on");
    }
    if uses(Appliance::Pot) {
        on.push("water on for the pot, ice in the sink");
    }
    if uses(Appliance::Canner) {
        on.push("canner water on, jars hot");
    }
    on.push("tables cleared, food out");
    let mut text = on.join("; ");
    if let Some(first) = text.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    text + "."
}
