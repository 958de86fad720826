//! What the season has already settled on the day from which the forecast looks.
//!
//! Past days are fact: cold that was recorded or logged came, cold that was not did not come, and a first frost that has
//! not come is drawn from later dates only. Events after that day are not yet known.

use chrono::NaiveDate;

use super::frost::{Frost, Side};
use super::horizon::{Horizon, Winter};
use super::recorded::Recorded;
use crate::garden::record::{Event, Happening};

/// Threshold, °F, of the frost whose absence is a fact until one is logged.
const FROST_F: f64 = 32.0;
/// A logged frost without a reading counts as this minimum, °C.
const UNREAD_FROST_C: f64 = 0.0;
/// How much colder, °F, than the coldest night so far a cold must be not to have come yet.
const COLDER_F: f64 = 0.1;

/// Facts of the days before today.
#[derive(Debug, Clone, Default)]
pub(crate) struct SoFar {
    /// Coldest known minimum of each past day, °C; infinite where no cold is known.
    pub(crate) past_min_c: Vec<f32>,
    /// The fall in which today lies, if its first cold of some degree has not come.
    pub(crate) waiting: Option<Waiting>,
}

/// A first cold that has not come yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Waiting {
    /// Index of the cold season.
    pub(crate) winter: usize,
    /// Warmest threshold that has not come, °F.
    pub(crate) threshold_f: f64,
    /// Chance that it would have come before today.
    pub(crate) passed: f64,
    /// Today.
    pub(crate) today: i32,
}

impl SoFar {
    /// Gathers the facts before a date.
    pub(crate) fn of(
        horizon: &Horizon,
        as_of: NaiveDate,
        events: &[Event],
        recorded: Option<&Recorded>,
        winters: &[Winter],
        frost: &Frost,
    ) -> Self {
        let today = horizon.clamped(as_of);
        let mut past_min_c = vec![f32::INFINITY; usize::from(today)];
        if let Some(recorded) = recorded {
            for (day, min) in (0..today).zip(&mut past_min_c) {
                if let Some((recorded_min, _)) = recorded.fact(horizon.date(day)) {
                    *min = recorded_min;
                }
            }
        }
        let frosts = events.iter().filter_map(|event| match event.what {
            Happening::Frost(min_c) if event.date <= as_of => {
                Some((event.date, min_c.unwrap_or(UNREAD_FROST_C)))
            }
            _ => None,
        });
        for (date, min_c) in frosts {
            if let Some(min) = usize::try_from(horizon.index(date))
                .ok()
                .and_then(|k| past_min_c.get_mut(k))
            {
                *min = min.min(min_c as f32);
            }
        }
        let waiting = waiting(i32::from(today), &past_min_c, winters, frost);
        Self {
            past_min_c,
            waiting,
        }
    }
}

/// The first cold that has not come in the fall in which today lies.
fn waiting(today: i32, past_min_c: &[f32], winters: &[Winter], frost: &Frost) -> Option<Waiting> {
    let winter = winters
        .iter()
        .position(|w| w.start() < today && today < w.middle())?;
    let start = usize::try_from(winters[winter].start()).unwrap_or(0);
    let coldest_c = past_min_c
        .get(start..)?
        .iter()
        .copied()
        .fold(f32::INFINITY, f32::min);
    let coldest_f = f64::from(coldest_c) * 1.8 + 32.0;
    let threshold_f = FROST_F.min(coldest_f - COLDER_F);
    let offset = winters[winter]
        .day_of
        .iter()
        .position(|&day| day >= today)? as f64;
    // The chance by which half of the day before today is reached, by halving.
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        match frost.offset(Side::Fall, threshold_f, middle) {
            Some(date) if date < offset - 0.5 => low = middle,
            _ => high = middle,
        }
    }
    Some(Waiting {
        winter,
        threshold_f,
        passed: low.min(0.999),
        today,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::garden::planting::PlantingId;
    use crate::garden::site::Climate as Known;
    use crate::season::draw::EndCause;
    use crate::season::ensemble::Settings;
    use crate::season::fixture::{self, clemson, date, planting};
    use crate::season::plan::compile;
    use crate::season::windows::{Window, windows};

    /// Late okra, which frost ends, and what is expected of it on a day after some events.
    fn okra(as_of: &str, events: &[(&str, Happening)]) -> Window {
        let mut garden = fixture::garden(vec![planting("okra", 1, "2026-07-10")]);
        log(&mut garden, events);
        windows(
            &compile(&garden, date(as_of)),
            &Settings {
                draws: 2_000,
                seed: 1,
            },
        )
        .remove(0)
    }

    fn log(garden: &mut Garden, events: &[(&str, Happening)]) {
        garden.record.events = events
            .iter()
            .map(|(day, what)| Event {
                date: date(day),
                what: what.clone(),
            })
            .collect();
    }

    #[test]
    fn a_frost_that_has_not_come_is_drawn_from_later_dates() {
        let before = okra("2026-07-01", &[]);
        assert!(before.last.unwrap().p10 < date("2026-10-15"));
        let waiting = okra("2026-10-25", &[]);
        assert!(
            waiting.last.unwrap().p10 >= date("2026-10-24"),
            "{waiting:?}"
        );
        // Half of the usual first frosts have passed; the later half is spread as before.
        assert!(waiting.last.unwrap().p90 >= before.last.unwrap().p90);
        let late = okra("2026-12-15", &[]);
        assert!(late.last.unwrap().p10 >= date("2026-12-14"), "{late:?}");
    }

    #[test]
    fn a_logged_frost_settles_what_it_killed() {
        let killed = okra("2026-10-25", &[("2026-10-12", Happening::Frost(None))]);
        assert_eq!(killed.last.unwrap().p50, date("2026-10-11"));
        assert!(killed.ended_by(EndCause::Cold) > 0.8, "{killed:?}");
        // A frost that is only logged later is not known yet.
        let unknown = okra("2026-10-10", &[("2026-10-12", Happening::Frost(None))]);
        assert!(unknown.last.unwrap().p90 > date("2026-10-15"));
        // Hardy kale lives on through a light frost.
        let mut garden = fixture::garden(vec![planting("kale", 0, "2026-08-01")]);
        log(&mut garden, &[("2026-10-12", Happening::Frost(Some(-2.0)))]);
        let kale = windows(
            &compile(&garden, date("2026-10-25")),
            &Settings {
                draws: 500,
                seed: 1,
            },
        )
        .remove(0);
        assert!(kale.last.unwrap().p10 > date("2026-10-25"));
    }

    #[test]
    fn what_was_seen_up_has_not_failed_and_what_ended_has() {
        let up = okra(
            "2026-08-01",
            &[("2026-07-20", Happening::Up(PlantingId(0)))],
        );
        assert!(up.ended_by(EndCause::Failed).abs() < 1e-12);
        assert!(okra("2026-08-01", &[]).ended_by(EndCause::Failed) > 0.01);
        let ended = okra(
            "2026-09-22",
            &[("2026-09-15", Happening::Ended(PlantingId(0)))],
        );
        assert!(ended.over);
        let this_week = okra(
            "2026-09-16",
            &[("2026-09-15", Happening::Ended(PlantingId(0)))],
        );
        assert!(
            this_week.ended_by(EndCause::Pest) > 0.9
                && this_week.last.unwrap().p90 <= date("2026-09-14")
        );
        let later = okra(
            "2026-09-01",
            &[("2026-09-15", Happening::Ended(PlantingId(0)))],
        );
        assert!(later.ended_by(EndCause::Pest) < 0.5);
    }

    /// Past days of a record are the same in every draw: what ripened before today did so on one day but for the
    /// planting's own pace.
    #[test]
    fn recorded_days_are_fact() {
        let mut garden = fixture::garden(vec![planting("turnip", 2, "2020-03-20")]);
        garden.crops[2].timing.days_cv = 0.0;
        garden.site.latitude_deg = 34.7;
        garden.site.climate = Known::Daily(clemson());
        let settings = Settings {
            draws: 300,
            seed: 1,
        };
        let open = windows(&compile(&garden, date("2020-03-16")), &settings)
            .remove(0)
            .first
            .unwrap();
        assert!(open.p90 > open.p10);
        let known = windows(&compile(&garden, date("2020-06-20")), &settings)
            .remove(0)
            .first
            .unwrap();
        assert_eq!(known.p10, known.p90);
        assert!(
            open.p10 <= known.p50 && known.p50 <= open.p90,
            "{open:?} {known:?}"
        );
    }
}
