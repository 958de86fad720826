//! How a planting's harvest falls into pickings: ready at once and standing, or picked again and again.
//!
//! Also what is taken of an unripe crop, on the eve of an end, and of a second food. Draws nothing and decides no end.
//!
//! Sources: shapes and intervals stand in the crop table; the 2 % under which a picking waits, the 0.75 of development
//! from which a crop is usable early: judgement. A crop of leaves that is taken
//! unripe gives a first picking, in proportion to its development, not its whole season.

use super::draw::{EndCause, ReadyKind};
use super::growth::{STANDSTILL_DAYS, UNIT, reach_growing};
use super::life::{Life, Second, Sheet, short};

/// Share of the yield under which a picking waits for the next.
const LEAST_PICKING: f64 = 0.02;
/// Share of development from which a crop can be used early.
const USABLE_FROM: f64 = 0.75;
/// Days of harvest that a strip on the eve of killing cold anticipates.
pub(crate) const STRIP_DAYS: usize = 14;
/// Share of the standing leaves that one picking of the second food takes.
const HALF_THE_LEAVES: f64 = 0.5;

/// Whether the grower sees an end coming and picks on its eve.
fn foreseen(cause: EndCause) -> bool {
    matches!(cause, EndCause::Cold | EndCause::Heat | EndCause::Clearing)
}

/// A planting's development in one draw.
pub(crate) struct Course<'a> {
    /// The planting.
    pub(crate) life: &'a Life,
    /// Its running sum of growing days.
    pub(crate) growth: &'a [u32],
    /// For each day the next one on which growth has all but stopped; none for a crop that is not used early.
    pub(crate) standstills: Option<&'a [u32]>,
    /// First day in its bed.
    pub(crate) start: usize,
    /// Growth needed until maturity, in steps.
    pub(crate) maturity: u32,
    /// First day of maturity, if it comes.
    pub(crate) mature: Option<usize>,
}

impl Course<'_> {
    /// Share of development reached at the end of a day.
    fn developed(&self, day: usize) -> f64 {
        f64::from(self.growth[day + 1] - self.growth[self.start]) / f64::from(self.maturity)
    }

    /// First day on which an unripe crop that can be used early stops growing.
    fn standstill(&self, end: usize) -> Option<usize> {
        let next = self.standstills?;
        let stop = self.mature.unwrap_or(end).min(end);
        let usable = reach_growing(
            self.growth,
            self.start,
            (f64::from(self.maturity) * USABLE_FROM) as u32,
            stop,
        )?;
        let day = next[usable.max(self.start + STANDSTILL_DAYS).min(stop)] as usize;
        (day < stop).then_some(day)
    }

    /// Whether the unripe crop can be used on the eve of an end, and its share of development then.
    fn usable_on_eve(&self, end: usize, cause: EndCause) -> Option<f64> {
        if self.standstills.is_none() || !foreseen(cause) || end <= self.start {
            return None;
        }
        let developed = self.developed(end - 1);
        (developed >= USABLE_FROM).then_some(developed.min(1.0))
    }

    /// A crop that is ready all at once and then stands.
    pub(crate) fn stand(
        &self,
        end: usize,
        cause: EndCause,
        sheet: &mut Sheet,
    ) -> (usize, EndCause) {
        let possible = sheet.possible_kg;
        let holds = usize::from(self.life.holds);
        let (day, done) = match (self.mature.filter(|&day| day < end), self.standstill(end)) {
            (Some(day), None) => {
                sheet.enter(day, ReadyKind::Picking, possible);
                (day, EndCause::Finish)
            }
            (_, Some(day)) => {
                // What it would still have put on is counted as never ripe.
                sheet.enter(
                    day,
                    ReadyKind::Early,
                    possible * self.developed(day).min(1.0),
                );
                (day, EndCause::Horizon)
            }
            (None, None) => {
                if let Some(developed) = self.usable_on_eve(end, cause) {
                    sheet.enter(end - 1, ReadyKind::LastPicking, possible * developed);
                }
                return (end, cause);
            }
        };
        let end = end.min(day + 1 + holds);
        sheet.last = Some(short(end - 1));
        (end, done)
    }

    /// A crop that is picked again and again.
    pub(crate) fn pick(&self, end: usize, cause: EndCause, sheet: &mut Sheet) -> (usize, EndCause) {
        let life = self.life;
        let possible = sheet.possible_kg;
        let every = usize::from(life.pick_every);
        let mut taken = 0.0;
        if let Some(day) = self.standstill(end) {
            taken = self.first_share() * self.developed(day).min(1.0);
            sheet.enter(day, ReadyKind::Early, possible * taken);
        }
        let Some(mature) = self.mature else {
            self.pick_unripe(end, cause, taken, sheet);
            return (end, cause);
        };
        if mature >= end {
            taken = self.pick_unripe(end, cause, taken, sheet);
        }
        // The harvest period runs from one interval before maturity, so that the first picking has something in it.
        let origin = self.growth[(mature + 1).saturating_sub(every).max(self.start)];
        let gone = |day: usize| {
            f64::from(self.growth[day + 1].saturating_sub(origin)) * life.period_per_step
        };
        let mut day = mature;
        let mut eves = life
            .eves
            .iter()
            .map(|&eve| usize::from(eve))
            .skip_while(|&eve| eve < mature)
            .peekable();
        while day < end {
            let period = gone(day);
            let now = life.curve.at(period);
            if period >= 1.0 {
                sheet.enter(day, ReadyKind::Picking, possible * (now - taken).max(0.0));
                sheet.ready_kg = possible;
                return (end.min(day + 1 + usize::from(life.holds)), EndCause::Finish);
            }
            if now - taken >= LEAST_PICKING {
                sheet.enter(day, ReadyKind::Picking, possible * (now - taken));
                taken = now;
            }
            while eves.next_if(|&eve| eve <= day).is_some() {}
            let next = day + every;
            day = eves.peek().map_or(next, |&eve| eve.min(next));
        }
        let last_day = self.growth.len() - 2;
        if foreseen(cause) && end > mature {
            let now = life.curve.at(gone(end - 1));
            sheet.enter(
                end - 1,
                ReadyKind::LastPicking,
                possible * (now - taken).max(0.0),
            );
            taken = taken.max(now);
        }
        if cause == EndCause::Cold && life.strip_share > 0.0 && end > self.start {
            let later = life.curve.at(gone((end - 1 + STRIP_DAYS).min(last_day)));
            let strip = life.strip_share * (later - taken).max(0.0);
            sheet.enter(end - 1, ReadyKind::Strip, possible * strip);
        }
        (end, cause)
    }

    /// Takes what can be used of an unripe crop on the eve of an end, and returns the share of the yield taken so far.
    fn pick_unripe(&self, end: usize, cause: EndCause, taken: f64, sheet: &mut Sheet) -> f64 {
        let Some(developed) = self.usable_on_eve(end, cause) else {
            return taken;
        };
        let now = (self.first_share() * developed).max(taken);
        sheet.enter(
            end - 1,
            ReadyKind::LastPicking,
            sheet.possible_kg * (now - taken),
        );
        now
    }

    /// Share of the yield in a first picking at full growth.
    fn first_share(&self) -> f64 {
        self.life
            .curve
            .at(f64::from(self.life.pick_every) * UNIT * self.life.period_per_step)
    }

    /// Leaves or tops that are taken while the main crop grows, half of what stands at a time, and the rest with it.
    pub(crate) fn pick_second(
        &self,
        second: &Second,
        end: usize,
        cause: EndCause,
        sheet: &mut Sheet,
    ) {
        let total = sheet.possible_kg * second.share;
        let from = (f64::from(self.maturity) * second.from.clamp(0.0, 1.0)) as u32;
        let stop = self.mature.unwrap_or(end).min(end);
        let mut taken = 0.0;
        if let Some(first) = reach_growing(self.growth, self.start, from, stop) {
            for day in (first..stop).step_by(usize::from(second.pick_every)) {
                let kg = HALF_THE_LEAVES * (total * self.developed(day).min(1.0) - taken).max(0.0);
                sheet.enter_second(day, ReadyKind::Picking, kg);
                taken += kg;
            }
        }
        if self.mature == Some(stop) && stop < end {
            sheet.enter_second(stop, ReadyKind::Picking, total - taken);
        } else if foreseen(cause) && end > self.start && self.developed(end - 1) >= second.from {
            let kg = (total * self.developed(end - 1).min(1.0) - taken).max(0.0);
            sheet.enter_second(end - 1, ReadyKind::LastPicking, kg);
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use crate::garden::crop::Pattern;
    use crate::season::curve::HarvestCurve;
    use crate::season::draw::{EndCause, ReadyKind};
    use crate::season::ends::{Cold, ColdSpan, Cover};
    use crate::season::growth::UNIT;
    use crate::season::life::{Life, OwnLuck, Second, Sheet, Sky, live};
    use crate::season::yields::LogSpread;

    /// Ten kilograms sown on day 10 that take 40 days, then 50 days of five even pickings.
    fn leaf() -> Life {
        Life {
            start: 10,
            limit: 300,
            cleared: None,
            ended: None,
            growth: 0,
            up: None,
            up_on: None,
            days: 40.0,
            days_cv: 0.1,
            covers: vec![Cover {
                from: 10,
                until: 300,
                kills: Some(0),
                spoils: Some(1),
            }],
            bolt: None,
            pest_chance: 0.0,
            pest_from: 60,
            pest_span: 20.0,
            pattern: Pattern::Leaf,
            curve: HarvestCurve::new(&[1.0]),
            period_per_step: 1.0 / (50.0 * UNIT),
            pick_every: 10,
            holds: 14,
            standstill: Some(1),
            strip_share: 0.0,
            expected_kg: 10.0,
            spread: LogSpread::from_cv(0.0),
            fail_chance: 0.0,
            second: None,
            eves: Vec::new(),
        }
    }

    const LUCK: OwnLuck = OwnLuck {
        days_z: 0.0,
        yield_z: 0.0,
        fails: 0.5,
        pest: 0.5,
        pest_when: 0.5,
    };

    /// Lives a life under a daily growth rate, with killing cold and spoiling cold on given days.
    fn grown(
        life: &Life,
        rate: impl Fn(usize) -> f64,
        kill: Option<i32>,
        spoil: Option<i32>,
    ) -> Sheet {
        let rates: Vec<f64> = (0..364).map(rate).collect();
        let sums = crate::season::growth::tests::sums_of_rates(&rates);
        let span =
            |day: Option<i32>| day.map_or(ColdSpan::NEVER, |d| ColdSpan { first: d, last: d });
        let cold = Cold {
            winters: 1,
            spans: vec![span(kill), span(spoil)],
            thresholds_c: vec![-10.0, -5.0],
            past_min_c: Vec::new(),
        };
        let mut sheet = Sheet::default();
        let sky = Sky {
            sums: &sums,
            min_c: &[10.0; 364],
            cold: &cold,
        };
        live(life, &sky, &LUCK, 0.0, &mut sheet);
        assert!(
            (sheet.possible_kg - sheet.ready_kg - sheet.lost_kg).abs() < 1e-9 * sheet.possible_kg
        );
        sheet
    }

    fn lots(sheet: &Sheet) -> Vec<(u16, bool, ReadyKind, f64)> {
        sheet
            .lots
            .iter()
            .map(|l| (l.day, l.second, l.kind, (l.kg * 1e6).round() / 1e6))
            .collect()
    }

    #[test]
    fn leaves_are_picked_every_interval_until_all_is_given() {
        // Days 10..=49 are forty growing days, so day 49 is the first picking.
        let sheet = grown(&leaf(), |_| 1.0, None, None);
        let want: Vec<_> = [49, 59, 69, 79, 89]
            .map(|d| (d, false, ReadyKind::Picking, 2.0))
            .to_vec();
        assert_eq!(lots(&sheet), want);
        assert_eq!(
            (sheet.first, sheet.last, sheet.end, sheet.cause),
            (Some(49), Some(89), 104, Some(EndCause::Finish))
        );
    }

    #[test]
    fn half_the_growth_takes_twice_the_time() {
        let sheet = grown(&leaf(), |_| 0.5, None, None);
        assert_eq!(sheet.first, Some(89));
        assert_eq!(lots(&sheet)[0].3, 1.0);
        assert!((sheet.ready_kg - 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_last_picking_on_the_eve_of_cold() {
        let sheet = grown(&leaf(), |_| 1.0, Some(74), None);
        assert_eq!(lots(&sheet)[3], (73, false, ReadyKind::LastPicking, 0.8));
        assert!((sheet.lost_kg - 3.2).abs() < 1e-9);
        assert_eq!((sheet.end, sheet.cause), (74, Some(EndCause::Cold)));
    }

    #[test]
    fn pests_come_without_an_eve() {
        let mut life = leaf();
        life.pest_chance = 1.0;
        let sheet = grown(&life, |_| 1.0, None, None);
        assert_eq!(
            (sheet.end, sheet.cause, sheet.last),
            (70, Some(EndCause::Pest), Some(69))
        );
        assert!((sheet.lost_kg - 4.0).abs() < 1e-9);
        life.pest_chance = 0.0;
        life.ended = Some(52);
        assert_eq!(
            grown(&life, |_| 1.0, None, None).cause,
            Some(EndCause::Pest)
        );
    }

    #[test]
    fn clearing_ends_even_on_the_last_day_followed() {
        let mut life = leaf();
        life.cleared = Some(65);
        life.limit = 65;
        let sheet = grown(&life, |_| 1.0, None, None);
        assert_eq!((sheet.end, sheet.cause), (65, Some(EndCause::Clearing)));
        assert_eq!(lots(&sheet).last().unwrap().0, 64);
    }

    #[test]
    fn tender_crops_are_stripped_on_the_eve_of_killing_cold() {
        let mut life = leaf();
        (life.pattern, life.standstill, life.strip_share) = (Pattern::Fruit, None, 0.5);
        let sheet = grown(&life, |_| 1.0, Some(74), None);
        // Fourteen days would have given 2.8 kg.
        assert_eq!(
            lots(&sheet).last().unwrap(),
            &(73, false, ReadyKind::Strip, 1.4)
        );
        assert!((sheet.strip_kg - 1.4).abs() < 1e-9 && (sheet.lost_kg - 1.8).abs() < 1e-9);
        // Unripe fruit too, if it would have ripened within the fortnight: nothing is picked before.
        let unripe = grown(&life, |_| 1.0, Some(45), None);
        assert_eq!(lots(&unripe), [(44, false, ReadyKind::Strip, 0.5 * 3.8)]);
    }

    #[test]
    fn small_pickings_wait_for_the_next() {
        let mut life = leaf();
        life.pick_every = 1;
        life.period_per_step = 1.0 / (199.0 * UNIT);
        let sheet = grown(&life, |_| 1.0, Some(100), None);
        // One day gives half a per cent; four make two.
        assert_eq!(sheet.first, Some(52));
        assert!(
            sheet.lots[..3]
                .iter()
                .all(|l| (l.kg - 40.0 / 199.0).abs() < 1e-3)
        );
    }

    #[test]
    fn roots_are_ready_at_once_and_stand() {
        let mut life = leaf();
        (life.pattern, life.holds) = (Pattern::Root, 30);
        let sheet = grown(&life, |_| 1.0, None, Some(60));
        assert_eq!(lots(&sheet), [(49, false, ReadyKind::Picking, 10.0)]);
        assert_eq!(
            (sheet.last, sheet.end, sheet.cause),
            (Some(79), 80, Some(EndCause::Finish))
        );
        assert_eq!(sheet.spoiled, [60]);
        let frozen = grown(&life, |_| 1.0, Some(70), None);
        assert_eq!((frozen.end, frozen.cause), (70, Some(EndCause::Finish)));
        assert!(frozen.lost_kg.abs() < 1e-9);
    }

    #[test]
    fn unripe_roots_are_used_from_three_quarters_on() {
        let mut life = leaf();
        life.pattern = Pattern::Root;
        // On the eve of cold, day 43: 34 of 40 growing days.
        let sheet = grown(&life, |_| 1.0, Some(44), None);
        assert_eq!(lots(&sheet), [(43, false, ReadyKind::LastPicking, 8.5)]);
        assert_eq!(sheet.cause, Some(EndCause::Cold));
        // Too young.
        assert!(grown(&life, |_| 1.0, Some(39), None).lots.is_empty());
        // Growth stops on day 42 after 32 growing days: seven slow days later it is taken.
        let stalled = grown(&life, |d| if d < 42 { 1.0 } else { 0.01 }, None, None);
        let lot = stalled.lots[0];
        assert_eq!((lot.day, lot.kind), (48, ReadyKind::Early));
        assert!((lot.kg - 10.0 * 32.07 / 40.0).abs() < 1e-3);
        assert_eq!(stalled.cause, Some(EndCause::Horizon));
        life.standstill = None;
        assert!(grown(&life, |_| 1.0, Some(44), None).lots.is_empty());
    }

    #[test]
    fn unripe_leaves_give_a_first_picking_and_go_on() {
        // Growth stops after 36 growing days and resumes on day 150.
        let sheet = grown(
            &leaf(),
            |d| if (46..150).contains(&d) { 0.0 } else { 1.0 },
            None,
            None,
        );
        assert_eq!(sheet.lots[0].kind, ReadyKind::Early);
        assert!((sheet.lots[0].kg - 2.0 * 0.9).abs() < 1e-3);
        assert_eq!(sheet.cause, Some(EndCause::Finish));
        assert!((sheet.ready_kg - 10.0).abs() < 1e-9);
        let eve = grown(&leaf(), |_| 1.0, Some(46), None);
        assert_eq!(lots(&eve), [(45, false, ReadyKind::LastPicking, 1.8)]);
    }

    #[test]
    fn second_food_takes_half_the_leaves_and_delays_the_root() {
        let mut life = leaf();
        life.pattern = Pattern::Root;
        life.second = Some(Second {
            share: 0.4,
            from: 0.5,
            pick_every: 10,
            delay_days: 2.0,
        });
        let sheet = grown(&life, |_| 1.0, None, None);
        // 42 growing days: half of them on day 30, ripe on day 51.
        assert_eq!(sheet.lots[0].day, 51);
        let second: Vec<(u16, f64)> = sheet.lots[1..].iter().map(|l| (l.day, l.kg)).collect();
        assert_eq!(
            second.iter().map(|s| s.0).collect::<Vec<_>>(),
            [30, 40, 50, 51]
        );
        assert!((second[0].1 - 0.5 * 4.0 * 21.0 / 42.0).abs() < 1e-3);
        assert!((sheet.second_kg - 4.0).abs() < 1e-9);
    }

    #[test]
    fn there_is_an_extra_picking_before_an_absence() {
        let mut life = leaf();
        life.eves = vec![20, 63];
        let days: Vec<u16> = grown(&life, |_| 1.0, None, None)
            .lots
            .iter()
            .map(|l| l.day)
            .collect();
        assert_eq!(days, [49, 59, 63, 73, 83, 93]);
    }

    #[test]
    fn what_stands_is_spoiled_once_until_there_is_more() {
        let mut life = leaf();
        life.covers[0].kills = None;
        let sheet = grown(&life, |_| 1.0, None, Some(61));
        assert_eq!(sheet.spoiled, [61]);
        assert!(grown(&life, |_| 1.0, None, Some(30)).spoiled.is_empty());
    }
}
