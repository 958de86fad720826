//! A planning problem laid bare: sessions that may be held, food that waits or will come, what may be made of it, limits.
//!
//! Everything is a number or an index; days are counted from the first day of the plan and may be negative for food
//! picked before. Knows nothing of gardens, dates or words for the cook, so that plans can be tried on made-up problems.

/// First and last session in reach, if any is.
type Reach = Option<(usize, usize)>;

/// A whole planning problem.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Instance {
    /// Days on which a session may be held, in order.
    pub sessions: Vec<Session>,
    /// Food, in any order.
    pub buckets: Vec<Bucket>,
    /// What may be made.
    pub products: Vec<Product>,
    /// Set-ups that products share.
    pub groups: Vec<Group>,
    /// Number of appliances that take one load after another.
    pub appliances: usize,
    /// Limits over some days or over the whole plan.
    pub limits: Vec<Limit>,
    /// Prices of what is to be avoided.
    pub prices: Prices,
    /// Hand minutes to set up and clean the kitchen, once a session.
    pub kitchen_min: f64,
}

/// A day on which a session may be held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session {
    /// Its day.
    pub day: i32,
    /// Minutes by the clock that the day offers.
    pub minutes: f64,
    /// Further minutes allowed at the price of overtime.
    pub overtime: f64,
    /// Cooks.
    pub hands: f64,
}

/// Food of one kind that is alike in what it can become.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bucket {
    /// Which food.
    pub food: usize,
    /// Amount, kg.
    pub kg: f64,
    /// Day it was or will be picked.
    pub day: i32,
    /// Last day on which it is at its best.
    pub best_day: i32,
    /// Last day on which it is fit.
    pub last_day: i32,
    /// Price of a kilogram that is not put by, minutes.
    pub loss_per_kg: f64,
    /// Whether it must not be canned: unripe, or of a crop that frost has killed.
    pub not_canned: bool,
}

/// Something that may be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Foods it takes.
    pub parts: Vec<Part>,
    /// Set-up it shares with others.
    pub group: usize,
    /// Hand minutes of set-up for each session in which it is made, besides the group's.
    pub setup_min: f64,
    /// The appliance it needs, if any.
    pub appliance: Option<Appliance>,
    /// What it is filled into.
    pub container: Container,
    /// Whether it is canned.
    pub canned: bool,
    /// Smallest amount worth making, kg.
    pub least_kg: f64,
    /// Days after picking within which the food must be used for it, if its recipe says so.
    pub within_days: Option<i32>,
    /// Last day on which making it counts, if any.
    pub until_day: Option<i32>,
    /// Price of a kilogram made into this instead of something more wanted, minutes.
    pub dislike_per_kg: f64,
}

/// A food's part in a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Which food.
    pub food: usize,
    /// Least share of the product, 0–1.
    pub least: f64,
    /// Greatest share of the product, 0–1.
    pub greatest: f64,
    /// Hand minutes to make a kilogram of it ready.
    pub minutes_per_kg: f64,
    /// Loads of the appliance that a kilogram takes; zero without appliance.
    pub loads_per_kg: f64,
}

/// What a product is filled into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Container {
    /// Food in a full one, kg.
    pub kg: f64,
    /// Smallest step in which it is counted: a whole one or half of one.
    pub step: f64,
    /// Hand minutes for a full one.
    pub minutes: f64,
}

impl Container {
    /// Returns how many are begun for an amount.
    #[must_use]
    pub fn begun(&self, kg: f64) -> f64 {
        (kg / self.kg / self.step - 1e-6).ceil().max(0.0) * self.step
    }
}

/// How a product uses an appliance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Appliance {
    /// Which appliance.
    pub which: usize,
    /// Minutes by the clock that one load occupies it.
    pub load_min: f64,
    /// Hand minutes for one load.
    pub hand_min: f64,
    /// Whether a load is long and never split, so that whole loads must be planned exactly, as with a canner.
    pub whole: bool,
    /// Whether containers are filled before the load goes in, as jars are.
    pub filled_first: bool,
}

/// A set-up that several products share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// Hand minutes, once for each session in which any of them is made.
    pub setup_min: f64,
}

/// A limit on what is taken at any one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What it is, for messages.
    pub name: String,
    /// What each product takes of it.
    pub terms: Vec<Term>,
    /// How much there is.
    pub amount: f64,
}

/// What one product takes of a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Which product.
    pub product: usize,
    /// Taken by each kilogram.
    pub per_kg: f64,
    /// Taken by each session in which it is made.
    pub per_use: f64,
    /// Days for which it is taken, the session's own included; for good if none.
    pub days: Option<i32>,
}

/// Prices, in minutes of work that one would give to avoid the thing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Prices {
    /// Holding a session at all.
    pub session: f64,
    /// A minute of set-up and cleaning.
    pub setup_min: f64,
    /// A minute of overtime.
    pub overtime_min: f64,
    /// A kilogram used a day past its best.
    pub stale_kg_day: f64,
}

/// A plan: what is made of what, and when.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// One entry for each product in each session, in order of session, then product.
    pub work: Vec<Work>,
}

impl Plan {
    /// Returns the plan with other work in the sessions from `from` up to but without `to`.
    #[must_use]
    pub(super) fn with(&self, work: Vec<Work>, from: usize, to: usize) -> Self {
        let outside = |w: &&Work| w.session < from || w.session >= to;
        let mut changed = Self { work };
        changed
            .work
            .extend(self.work.iter().filter(outside).cloned());
        changed.work.sort_by_key(|w| (w.session, w.product));
        changed
    }
}

/// One product in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Which session.
    pub session: usize,
    /// Which product.
    pub product: usize,
    /// Amounts taken, each with its bucket, in order of bucket, kg.
    pub takes: Vec<(usize, f64)>,
}

impl Work {
    /// Returns the amount made, kg.
    #[must_use]
    pub fn kg(&self) -> f64 {
        self.takes.iter().map(|(_, kg)| kg).sum()
    }
}

impl Instance {
    /// Returns the sessions in which a product can take from a bucket, first and last included, if there are any.
    #[must_use]
    pub fn reach(&self, bucket: &Bucket, product: &Product) -> Option<(usize, usize)> {
        if product.canned && bucket.not_canned {
            return None;
        }
        let mut last_day = bucket.last_day;
        if let Some(days) = product.within_days {
            last_day = last_day.min(bucket.day + days);
        }
        if let Some(day) = product.until_day {
            last_day = last_day.min(day);
        }
        let first = self.sessions.partition_point(|s| s.day < bucket.day);
        let end = self.sessions.partition_point(|s| s.day <= last_day);
        (first < end).then(|| (first, end - 1))
    }

    /// Merges food that is alike: the same kind, price and sessions in reach of every product and before it is stale.
    ///
    /// **Shape**: also returns, for each new bucket, the old ones with their amounts, the oldest first.
    #[must_use]
    pub fn merged(&self) -> (Self, Vec<Vec<usize>>) {
        let mut order: Vec<usize> = (0..self.buckets.len()).collect();
        order.sort_by_key(|&b| (self.buckets[b].food, self.buckets[b].day, b));
        let mut merged = Self {
            buckets: Vec::new(),
            ..self.clone()
        };
        let mut members: Vec<Vec<usize>> = Vec::new();
        let mut last: Option<(usize, Vec<Reach>)> = None;
        for index in order {
            let bucket = self.buckets[index];
            let reach: Vec<Reach> = self
                .products
                .iter()
                .filter(|p| p.parts.iter().any(|part| part.food == bucket.food))
                .map(|p| self.reach(&bucket, p))
                .collect();
            let same = last.as_ref().is_some_and(|(before, its_reach)| {
                let other = &self.buckets[*before];
                other.food == bucket.food
                    && other.loss_per_kg == bucket.loss_per_kg
                    && *its_reach == reach
                    && self.stale_alike(other, &bucket)
            });
            if let (true, Some(into)) = (same, merged.buckets.last_mut()) {
                into.kg += bucket.kg;
                members.last_mut().expect("a bucket was pushed").push(index);
            } else {
                merged.buckets.push(bucket);
                members.push(vec![index]);
            }
            last = Some((index, reach));
        }
        (merged, members)
    }

    /// Says whether two lots grow stale alike at every session that both can reach.
    fn stale_alike(&self, a: &Bucket, b: &Bucket) -> bool {
        self.prices.stale_kg_day == 0.0
            || self
                .sessions
                .iter()
                .filter(|s| s.day >= b.day.max(a.day) && s.day <= a.last_day.max(b.last_day))
                .all(|s| (s.day - a.best_day).max(0) == (s.day - b.best_day).max(0))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn food_alike_is_merged_and_nothing_else() {
        let session = |day| Session {
            day,
            minutes: 100.0,
            overtime: 0.0,
            hands: 1.0,
        };
        let bucket = |day| Bucket {
            food: 0,
            kg: 1.0,
            day,
            best_day: day + 1,
            last_day: day + 4,
            loss_per_kg: 20.0,
            not_canned: false,
        };
        let product = Product {
            parts: vec![Part {
                food: 0,
                least: 0.0,
                greatest: 1.0,
                minutes_per_kg: 5.0,
                loads_per_kg: 0.0,
            }],
            group: 0,
            setup_min: 0.0,
            appliance: None,
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
        };
        let mut instance = Instance {
            sessions: vec![session(3), session(5), session(10)],
            buckets: vec![bucket(2), bucket(1), bucket(4)],
            products: vec![product],
            ..Instance::default()
        };
        let (merged, members) = instance.merged();
        assert_eq!(members, [vec![1, 0], vec![2]]);
        assert_eq!(merged.buckets[0].kg, 2.0);
        instance.prices.stale_kg_day = 1.0;
        assert_eq!(instance.merged().1.len(), 3, "they grow stale differently");
        instance.prices.stale_kg_day = 0.0;
        instance.products[0].within_days = Some(1);
        assert_eq!(
            instance.merged().1.len(),
            3,
            "one is too old for the recipe"
        );
        assert_eq!(
            instance.reach(&instance.buckets[1], &instance.products[0]),
            None
        );
    }
}
