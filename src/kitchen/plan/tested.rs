//! The plan tested against the seasons: how often each session overflows, and what would be late.
//!
//! In every season the sessions are held as planned: of each crop that waits, each product takes the share that the plan
//! gave it on that day. A session that needs more time than the kitchen is open does what fits and leaves the rest.
//! Shares of mixtures and limits of equipment are not looked at again here.

use super::bridge::{PlannedWork, SurplusLot};
use crate::kitchen::context::Context;
use crate::kitchen::minutes::{self, Work};

/// What the seasons make of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// One entry for each session, in order of days.
    pub sessions: Vec<SessionTested>,
    /// Food that a session should have done and had no time for, kg, mean over the seasons.
    pub late_kg: f64,
    /// Number of seasons.
    pub seasons: usize,
}

/// What the seasons make of one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SessionTested {
    /// Day, counted from the first day of the horizon.
    pub day: u16,
    /// Share of the seasons in which it needs more time than the kitchen is open.
    pub chance_over: f64,
    /// Minutes it needs, mean over the seasons.
    pub mean_min: f64,
}

/// Of one crop on one session day: the share of what waits that each product takes.
struct Shares {
    day: u16,
    /// Product, crop, share 0–1.
    of: Vec<(u16, u16, f64)>,
}

/// Runs a plan against seasons; `lots` is the food it was planned for, `seasons` that of each season.
#[must_use]
pub fn tested(
    ctx: &Context,
    plan: &[PlannedWork],
    lots: &[SurplusLot],
    seasons: impl IntoIterator<Item = Vec<SurplusLot>>,
) -> Tested {
    let shares = shares(plan, lots);
    let mut tested = Tested {
        sessions: (shares.iter())
            .map(|s| SessionTested {
                day: s.day,
                chance_over: 0.0,
                mean_min: 0.0,
            })
            .collect(),
        late_kg: 0.0,
        seasons: 0,
    };
    for season in seasons {
        tested.seasons += 1;
        one_season(ctx, &shares, season, &mut tested);
    }
    let n = tested.seasons.max(1) as f64;
    tested.late_kg /= n;
    for session in &mut tested.sessions {
        session.chance_over /= n;
        session.mean_min /= n;
    }
    tested
}

/// Finds the shares that the plan gives its products of what waits on each session day.
fn shares(plan: &[PlannedWork], lots: &[SurplusLot]) -> Vec<Shares> {
    let mut left = lots.to_vec();
    let mut all = Vec::new();
    for works in plan.chunk_by(|a, b| a.day == b.day) {
        let day = works[0].day;
        let mut of: Vec<(u16, u16, f64)> = Vec::new();
        for work in works {
            for &(lot, kg) in &work.takes {
                let crop = lots[lot].crop;
                match of.iter_mut().find(|s| (s.0, s.1) == (work.product, crop)) {
                    Some(share) => share.2 += kg,
                    None => of.push((work.product, crop, kg)),
                }
            }
        }
        for share in &mut of {
            share.2 = (share.2 / waiting(&left, share.1, day).max(1e-9)).min(1.0);
        }
        for work in works {
            for &(lot, kg) in &work.takes {
                left[lot].kg -= kg;
            }
        }
        all.push(Shares { day, of });
    }
    all
}

fn fit(lot: &SurplusLot, crop: u16, day: u16) -> bool {
    lot.crop == crop && lot.day <= i32::from(day) && i32::from(day) <= lot.last_day
}

fn waiting(lots: &[SurplusLot], crop: u16, day: u16) -> f64 {
    let fit = lots.iter().filter(|lot| fit(lot, crop, day));
    fit.map(|lot| lot.kg.max(0.0)).sum()
}

fn one_season(ctx: &Context, shares: &[Shares], mut lots: Vec<SurplusLot>, tested: &mut Tested) {
    for (session, told) in shares.iter().zip(&mut tested.sessions) {
        let day = usize::from(session.day);
        let mut works: Vec<Work> = Vec::new();
        let mut takes: Vec<(u16, f64)> = Vec::new();
        for &(product, crop, share) in &session.of {
            let kg = share * waiting(&lots, crop, session.day);
            let parts = &ctx.products[usize::from(product)].parts;
            let Some(part) = parts.iter().find(|p| p.crop == crop).filter(|_| kg > 1e-6) else {
                continue;
            };
            takes.push((crop, kg));
            match works.iter_mut().find(|w| w.product == product) {
                Some(work) => work.add(kg, part.rates),
                None => {
                    let mut work = Work {
                        product,
                        ..Work::default()
                    };
                    work.add(kg, part.rates);
                    works.push(work);
                }
            }
        }
        for work in &mut works {
            let rates = &ctx.rates[usize::from(work.product)];
            work.containers = minutes::containers_begun(work.kg * (1.0 - 1e-5), rates);
        }
        let hands = ctx.calendar.hands[day];
        let time = minutes::session(&ctx.rates, &works, hands, &mut []);
        let need = time.minutes * ctx.minutes_factor;
        let open = ctx.calendar.open_min[day];
        told.mean_min += need;
        let done = if need > open + 1.0 {
            told.chance_over += 1.0;
            open / need
        } else {
            1.0
        };
        for (crop, kg) in takes {
            tested.late_kg += kg * (1.0 - done);
            let mut wanted = kg * done;
            for lot in lots.iter_mut().filter(|lot| fit(lot, crop, session.day)) {
                let taken = lot.kg.min(wanted);
                lot.kg -= taken;
                wanted -= taken;
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::bridge::bridge;
    use super::super::effort::Effort;
    use super::super::solve::plan;
    use super::*;
    use crate::kitchen::context::compile;
    use crate::kitchen::fixture::{self, monday};

    /// Beans for one Saturday of four hours; three seasons worked by hand: as planned, half of it, ten times as much.
    #[test]
    fn three_seasons_by_hand() {
        let mut garden = fixture::garden();
        fixture::plant(&mut garden, "snap bean");
        fixture::goal(&mut garden, &[fixture::FROZEN_BEANS], 99.0);
        let ctx = compile(&garden, monday(), 14, monday());
        let season = |kg: f64| {
            vec![SurplusLot {
                crop: 0,
                day: 4,
                last_day: 6,
                kg,
                not_canned: false,
            }]
        };
        let lots = season(4.0);
        let bridge = bridge(&ctx, &lots);
        let planned = plan(&bridge.instance, Effort::USUAL);
        let work = bridge.back(&planned.plan);
        assert_eq!(work.len(), 1);
        let all = tested(&ctx, &work, &lots, [4.0, 2.0, 40.0].map(season));
        assert_eq!((all.seasons, all.sessions.len()), (3, 1));
        assert_eq!(all.sessions[0].day, 5);
        assert!((all.sessions[0].chance_over - 1.0 / 3.0).abs() < 1e-12);
        // 40 kg: 15 + 20 + 40 kg × 5 min/lb + 59 bags × 3 min; of that 240 minutes are open.
        let bags = (40.0 / 0.453_592_37 / 1.5 * 2.0_f64).ceil() / 2.0;
        let need = 35.0 + 40.0 / 0.453_592_37 * 5.0 + bags * 3.0;
        let late = 40.0 * (1.0 - 240.0 / need) / 3.0;
        assert!((all.late_kg - late).abs() < 1e-6, "{} {late}", all.late_kg);
        let as_planned = tested(&ctx, &work, &lots, [lots.clone()]);
        assert_eq!(as_planned.late_kg, 0.0);
    }
}
