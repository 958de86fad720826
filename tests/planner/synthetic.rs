//! Made-up planning problems of any size, the same on every machine. All amounts are invented.

use putby::kitchen::plan::instance::{
    Appliance, Bucket, Container, Group, Instance, Limit, Part, Prices, Product, Session, Term,
};

/// A small generator of numbers (splitmix64: Steele, Lea and Flood 2014), so that no crate's version changes a problem.
pub(crate) struct Numbers(u64);

impl Numbers {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// A number in `low..high`, on a grid of a thousandth of the width.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() % 1000) as f64 / 1000.0
    }
    pub(crate) fn whole(&mut self, low: i32, high: i32) -> i32 {
        low + (self.next() % (high - low + 1).unsigned_abs() as u64) as i32
    }
    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }
}

/// What a problem holds besides sessions, set-ups and food that spoils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// One product a crop, set-ups, overtime at a price: the plain lot-sizing problem.
    Plain,
    /// Also alternatives, mixtures, goals, intake limits, a pot, a canner, smallest lots, staleness and no overtime.
    Full,
}

/// Makes a problem with so many crops over so many weeks, three candidate days a week.
pub(crate) fn problem(crops: usize, weeks: i32, seed: u64, kind: Kind) -> Instance {
    let mut n = Numbers::new(seed * 1000 + crops as u64 * 7 + weeks.unsigned_abs() as u64);
    let full = kind == Kind::Full;
    let mut instance = Instance {
        prices: Prices {
            session: 30.0,
            setup_min: 1.0,
            overtime_min: 1.5,
            stale_kg_day: if full { 0.5 } else { 0.0 },
        },
        kitchen_min: if full { 15.0 } else { 0.0 },
        ..Instance::default()
    };
    for week in 0..weeks {
        for (day, minutes) in [(1, 90.0), (3, 90.0), (5, 240.0)] {
            let closed = n.chance(0.05);
            instance.sessions.push(Session {
                day: 7 * week + day,
                minutes: if closed { 0.0 } else { minutes },
                overtime: if full || closed { 0.0 } else { 120.0 },
                hands: if full && n.chance(0.1) { 2.0 } else { 1.0 },
            });
        }
    }
    for _ in 0..4 {
        let setup_min = n.between(10.0, 30.0);
        instance.groups.push(Group { setup_min });
    }
    if full {
        instance.appliances = 2;
    }
    for crop in 0..crops {
        food(&mut instance, &mut n, crop, weeks, crops, full);
    }
    if full {
        extras(&mut instance, &mut n, crops);
    }
    instance
}

/// Adds one crop's pickings and its own product.
fn food(
    instance: &mut Instance,
    n: &mut Numbers,
    crop: usize,
    weeks: i32,
    crops: usize,
    full: bool,
) {
    let length = n.whole(5, 10).min(weeks);
    let start = n.whole(0, weeks - length);
    let every = n.whole(2, 4);
    let keeps = n.whole(3, 9);
    let loss_per_kg = n.between(15.0, 60.0);
    let minutes_per_kg = n.between(6.0, 18.0);
    let peak = n.between(1.0, 3.0) * f64::from(weeks) / crops as f64 * 8.0 / 12.0;
    let (from, to) = (7 * start, 7 * (start + length));
    let mut day = from;
    while day < to {
        let through = f64::from(day - from) / f64::from(to - from);
        let kg = peak * (4.0 * through * (1.0 - through) + 0.2) * n.between(0.4, 1.6);
        instance.buckets.push(Bucket {
            food: crop,
            kg: (kg * 100.0).round() / 100.0,
            day,
            best_day: day + (keeps + 1) / 2,
            last_day: day + keeps,
            loss_per_kg,
            not_canned: false,
        });
        day += every;
    }
    let appliance = (full && crop.is_multiple_of(3)).then_some(Appliance {
        which: 0,
        load_min: 7.0,
        hand_min: 1.0,
        whole: false,
        filled_first: false,
    });
    instance.products.push(Product {
        parts: vec![Part {
            food: crop,
            least: 0.0,
            greatest: 1.0,
            minutes_per_kg,
            loads_per_kg: if appliance.is_some() { 1.0 / 0.9 } else { 0.0 },
        }],
        group: crop % 4,
        setup_min: n.between(5.0, 20.0),
        appliance,
        container: Container {
            kg: 1.0,
            step: 1.0,
            minutes: 0.0,
        },
        canned: false,
        least_kg: 0.0,
        within_days: None,
        until_day: None,
        dislike_per_kg: 0.0,
    });
}

/// Adds alternatives, a mixture, canner loads, smallest lots, goals and an intake limit.
fn extras(instance: &mut Instance, n: &mut Numbers, crops: usize) {
    let total = |instance: &Instance, crop: usize| -> f64 {
        let all = instance.buckets.iter().filter(|b| b.food == crop);
        all.map(|b| b.kg).sum()
    };
    for crop in (0..crops).step_by(4) {
        let mut canned = instance.products[crop].clone();
        canned.group = 3;
        canned.setup_min = 5.0;
        canned.dislike_per_kg = 2.0;
        canned.within_days = Some(2);
        canned.appliance = Some(Appliance {
            which: 1,
            load_min: 75.0,
            hand_min: 20.0,
            whole: true,
            filled_first: true,
        });
        canned.canned = true;
        canned.parts[0].loads_per_kg = 1.0 / 3.0;
        instance.products.push(canned);
        let goal = 0.5 * total(instance, crop);
        instance.limits.push(Limit {
            name: format!("goal {crop}"),
            terms: vec![Term {
                product: crop,
                per_kg: 1.0,
                per_use: 0.0,
                days: None,
            }],
            amount: goal,
        });
    }
    if crops > 2 {
        let part = |food: usize, least, greatest| Part {
            food,
            least,
            greatest,
            minutes_per_kg: 11.0,
            loads_per_kg: 0.0,
        };
        instance.products.push(Product {
            parts: vec![part(1, 0.5, 1.0), part(2, 0.0, 0.5)],
            group: 1,
            setup_min: 8.0,
            appliance: None,
            container: Container {
                kg: 1.0,
                step: 0.5,
                minutes: 0.0,
            },
            canned: false,
            least_kg: 0.5,
            within_days: None,
            until_day: None,
            dislike_per_kg: 1.0,
        });
    }
    for product in 0..crops {
        instance.products[product].least_kg = n.between(0.1, 0.6);
    }
    instance.limits.push(Limit {
        name: "freezer intake".into(),
        terms: (0..crops)
            .map(|product| Term {
                product,
                per_kg: 1.0,
                per_use: 0.0,
                days: Some(1),
            })
            .collect(),
        amount: 9.0,
    });
    instance.limits.push(Limit {
        name: "crock".into(),
        terms: vec![Term {
            product: 1,
            per_kg: 0.0,
            per_use: 1.0,
            days: Some(14),
        }],
        amount: 2.0,
    });
}
