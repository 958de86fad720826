//! A garden's own weather record: cleaned, its gaps filled, its years handed out, its frosts counted.
//!
//! Input only parses; what is doubtful in the values is decided here and told in plain sentences.
//!
//! Sources: the 20 K rule and the coverage rules were tried on Clemson, South Carolina, 1930-2020 (NOAA GHCN-Daily
//! USC00381770), where they drop one absurd value of 33,131 and the years with missing months; the length of gaps that
//! are interpolated: judgement.

use chrono::{Datelike, Days, NaiveDate};

use super::frost::Side;
use super::quantile::type7;
use crate::garden::site::{DailyWeather, FrostRow, MonthlyNormals};
use crate::garden::units::Temperature;
use crate::garden::week::YearDay;

/// Kelvins from the median of the days around at which a value is dropped.
const ABSURD_K: f32 = 20.0;
/// Days before and after that are looked at.
const AROUND: usize = 5;
/// Longest gap, days, that is interpolated.
const SHORT_GAP: usize = 5;
/// Fewest days of a calendar year with both values for the year to be used.
const ENOUGH_DAYS: usize = 330;
/// Fewest days from February to June with a minimum for a year's last spring frost to count.
const ENOUGH_SPRING: usize = 145;
/// Fewest days from September to December with a minimum for a year's first fall frost to count.
const ENOUGH_FALL: usize = 118;
/// Fewest years from which frost dates are taken.
const ENOUGH_YEARS: usize = 5;
/// Half a step of a record in tenths, K. Stations read whole degrees Fahrenheit: 28 °F is −2.22 °C and stands as −2.2, and
/// is 28 °F all the same.
pub(crate) const HALF_STEP_K: f64 = 0.05;

/// A cleaned record.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// Date of the first day.
    first: NaiveDate,
    /// Minimum of each day, °C, as recorded; none where missing or dropped.
    min_c: Vec<Option<f32>>,
    /// Maximum of each day, °C, likewise.
    max_c: Vec<Option<f32>>,
    /// Minimum and maximum of each day with all gaps filled, °C.
    full: Vec<(f32, f32)>,
    /// Calendar years with enough days, ascending.
    years: Vec<i32>,
    /// Plain sentences on what was dropped, filled and left out.
    pub(crate) notes: Vec<String>,
}

impl Recorded {
    /// Cleans a record; none if it has not a single year with enough days.
    #[must_use]
    pub fn of(weather: &DailyWeather) -> Option<Self> {
        let mut notes = Vec::new();
        let date = |k: usize| weather.first + Days::new(k as u64);
        let column = |name: &str, values: Vec<Option<f32>>, notes: &mut Vec<String>| {
            let (kept, dropped) = without_absurd(&values);
            for (k, value) in dropped {
                notes.push(format!(
                    "{}: {name} of {value:.1} °C on {} is far from the days around it and was dropped.",
                    weather.source,
                    date(k)
                ));
            }
            kept
        };
        let min_c = column(
            "minimum",
            weather.days.iter().map(|d| d.min_c).collect(),
            &mut notes,
        );
        let max_c = column(
            "maximum",
            weather.days.iter().map(|d| d.max_c).collect(),
            &mut notes,
        );
        let mut years = Vec::new();
        let mut left_out = Vec::new();
        for year in weather.first.year()..=date(weather.days.len().saturating_sub(1)).year() {
            let both = days_of(weather.first, weather.days.len(), year, 1..=12)
                .filter(|&k| min_c[k].is_some() && max_c[k].is_some())
                .count();
            if both >= ENOUGH_DAYS {
                years.push(year)
            } else {
                left_out.push(year.to_string())
            }
        }
        if years.is_empty() {
            return None;
        }
        let (filled_min, gaps_min) = filled(weather.first, &min_c);
        let (filled_max, gaps_max) = filled(weather.first, &max_c);
        // A filled pair must not stand on its head.
        let full = filled_min
            .iter()
            .zip(&filled_max)
            .map(|(&a, &b)| (a.min(b), a.max(b)))
            .collect();
        let without = if left_out.is_empty() {
            String::new()
        } else {
            format!("; left out: {} (too few days)", left_out.join(", "))
        };
        notes.push(format!(
            "Weather is taken from {}, based on {} years{without}.",
            weather.source,
            years.len()
        ));
        if gaps_min + gaps_max > 0 {
            notes.push(format!(
                "{} missing values were filled with the usual value of the day.",
                gaps_min + gaps_max
            ));
        }
        Some(Self {
            first: weather.first,
            min_c,
            max_c,
            full,
            years,
            notes,
        })
    }

    /// Returns the years in use.
    #[must_use]
    pub fn years(&self) -> &[i32] {
        &self.years
    }

    /// Returns places in [`Recorded::years`] from which a run may start: the year after must be recorded too, so that the
    /// last year starts none, unless there is no other.
    pub(crate) fn starts(&self) -> Vec<usize> {
        let runs_on: Vec<usize> = (1..self.years.len())
            .filter(|&k| self.years[k] == self.years[k - 1] + 1)
            .map(|k| k - 1)
            .collect();
        if runs_on.is_empty() {
            (0..self.years.len()).collect()
        } else {
            runs_on
        }
    }

    /// Returns minimum and maximum of a date when some calendar year stands for a recorded one; years beyond the record
    /// begin again at its other end.
    pub(crate) fn stand_in(&self, date: NaiveDate, start: usize, year_of_start: i32) -> (f32, f32) {
        let count = i32::try_from(self.years.len()).unwrap_or(1);
        let start = i32::try_from(start).unwrap_or(0);
        let place = (start + date.year() - year_of_start).rem_euclid(count);
        let year = self.years[usize::try_from(place).unwrap_or(0)];
        let day = date
            .with_year(year)
            .unwrap_or_else(|| YearDay::of(date).in_year(year));
        self.index(day).map_or((0.0, 0.0), |k| self.full[k])
    }

    /// Returns what was really recorded on a date.
    pub(crate) fn fact(&self, date: NaiveDate) -> Option<(f32, f32)> {
        let k = self.index(date)?;
        Some((self.min_c[k]?, self.max_c[k]?))
    }

    /// Place of a date in the record.
    fn index(&self, date: NaiveDate) -> Option<usize> {
        usize::try_from((date - self.first).num_days())
            .ok()
            .filter(|&k| k < self.full.len())
    }

    /// Returns the recorded monthly means over the years in use, gaps filled.
    #[must_use]
    pub fn monthly(&self) -> MonthlyNormals {
        let mut sums = [(0.0_f64, 0.0_f64, 0.0_f64); 12];
        for (k, &(min, max)) in self.full.iter().enumerate() {
            let date = self.first + Days::new(k as u64);
            if self.years.binary_search(&date.year()).is_ok() {
                let sum = &mut sums[date.month0() as usize];
                *sum = (sum.0 + f64::from(min), sum.1 + f64::from(max), sum.2 + 1.0);
            }
        }
        MonthlyNormals {
            min: sums.map(|(min, _, n)| Temperature::from_c(min / n.max(1.0))),
            max: sums.map(|(_, max, n)| Temperature::from_c(max / n.max(1.0))),
        }
    }

    /// Returns each year's last spring or first fall day with a minimum at or below a threshold, for years with enough
    /// days; none where such a cold did not come. Spring is January to July, fall August to December, moved by half a
    /// year in the south.
    #[must_use]
    pub fn frosts(
        &self,
        side: Side,
        threshold: Temperature,
        southern: bool,
    ) -> Vec<(i32, Option<NaiveDate>)> {
        // Months of the year in the north; in the south the other half of the year.
        let half = |month: u32| {
            if southern {
                (month + 5) % 12 + 1
            } else {
                month
            }
        };
        let (season, core, enough) = match side {
            Side::Spring => (1..=7, 2..=6, ENOUGH_SPRING),
            Side::Fall => (8..=12, 9..=12, ENOUGH_FALL),
        };
        let limit = (threshold.c() + HALF_STEP_K) as f32;
        let last_year = (self.first + Days::new(self.full.len().saturating_sub(1) as u64)).year();
        (self.first.year()..=last_year)
            .filter_map(|year| {
                let days: Vec<usize> = days_of(self.first, self.full.len(), year, 1..=12)
                    .filter(|&k| season.contains(&half(self.month(k))))
                    .collect();
                let known = days
                    .iter()
                    .filter(|&&k| core.contains(&half(self.month(k))) && self.min_c[k].is_some())
                    .count();
                if known < enough {
                    return None;
                }
                let cold = |k: &&usize| self.min_c[**k].is_some_and(|t| t <= limit);
                let day = match side {
                    Side::Spring => days.iter().rev().find(cold),
                    Side::Fall => days.iter().find(cold),
                };
                Some((year, day.map(|&k| self.first + Days::new(k as u64))))
            })
            .collect()
    }

    /// Says on how many years the frost dates rest and which are left out; none where the record gives no frost dates.
    pub(crate) fn frost_years(&self, southern: bool) -> Option<String> {
        let last_year = (self.first + Days::new(self.full.len().saturating_sub(1) as u64)).year();
        let freezing = Temperature::from_f(32.0);
        let mut counts = Vec::new();
        let mut without = Vec::new();
        for (side, name) in [(Side::Spring, "spring"), (Side::Fall, "fall")] {
            let used = self.frosts(side, freezing, southern);
            let missing: Vec<String> = (self.first.year()..=last_year)
                .filter(|year| used.iter().all(|(y, _)| y != year))
                .map(|year| year.to_string())
                .collect();
            if used.len() < ENOUGH_YEARS {
                return None;
            }
            counts.push(format!("{} years in {name}", used.len()));
            if !missing.is_empty() {
                without.push(format!("{} (too few days in {name})", missing.join(", ")));
            }
        }
        let without = if without.is_empty() {
            String::new()
        } else {
            format!("; left out: {}", without.join(", "))
        };
        Some(format!(
            "Frost dates are based on {}{without}.",
            counts.join(" and ")
        ))
    }

    /// Month of a place in the record.
    fn month(&self, k: usize) -> u32 {
        (self.first + Days::new(k as u64)).month()
    }

    /// Returns a row of the frost table as the record has it; none with too few years.
    #[must_use]
    pub fn frost_row(
        &self,
        side: Side,
        threshold: Temperature,
        southern: bool,
    ) -> Option<FrostRow> {
        let all = self.frosts(side, threshold, southern);
        let mut days: Vec<f64> = all
            .iter()
            .filter_map(|(_, day)| day.map(|d| f64::from(YearDay::of(d).number())))
            .collect();
        if all.len() < ENOUGH_YEARS || days.len() < ENOUGH_YEARS {
            return None;
        }
        days.sort_by(f64::total_cmp);
        let share = days.len() as f64 / all.len() as f64;
        let dates = (1..=9)
            .filter_map(|tenth| {
                let level = f64::from(tenth) / 10.0;
                let early = match side {
                    Side::Fall => level,
                    Side::Spring => 1.0 - level,
                };
                let day = type7(&days, early)?;
                Some((level * share, YearDay::wrapped((day + 0.5).floor() as i64)))
            })
            .collect();
        Some(FrostRow {
            threshold,
            share,
            dates,
            sd_days: 12.0,
        })
    }
}

/// Places of a year's days of some months in a record.
fn days_of(
    first: NaiveDate,
    count: usize,
    year: i32,
    months: std::ops::RangeInclusive<u32>,
) -> impl Iterator<Item = usize> {
    let place = |date: Option<NaiveDate>| {
        date.map_or(0, |d| (d - first).num_days().clamp(0, count as i64)) as usize
    };
    let from = place(NaiveDate::from_ymd_opt(year, 1, 1));
    let until = place(NaiveDate::from_ymd_opt(year + 1, 1, 1));
    (from..until).filter(move |&k| months.contains(&(first + Days::new(k as u64)).month()))
}

/// A column without absurd values, and these with their places.
fn without_absurd(values: &[Option<f32>]) -> (Vec<Option<f32>>, Vec<(usize, f32)>) {
    let mut kept = values.to_vec();
    let mut dropped = Vec::new();
    for (k, value) in values.iter().enumerate() {
        let Some(value) = *value else { continue };
        let mut around: Vec<f32> = (k.saturating_sub(AROUND)..(k + AROUND + 1).min(values.len()))
            .filter(|&n| n != k)
            .filter_map(|n| values[n])
            .collect();
        if median(&mut around).is_some_and(|middle| (value - middle).abs() > ABSURD_K) {
            kept[k] = None;
            dropped.push((k, value));
        }
    }
    (kept, dropped)
}

/// Median of some values.
fn median(values: &mut [f32]) -> Option<f32> {
    values.sort_by(f32::total_cmp);
    let n = values.len();
    (n > 0).then(|| 0.5 * (values[(n - 1) / 2] + values[n / 2]))
}

/// A column with its gaps filled: short ones between their ends, longer ones with the day's median over the record;
/// and how many values the longer ones took.
fn filled(first: NaiveDate, values: &[Option<f32>]) -> (Vec<f32>, usize) {
    let mut by_day: Vec<Vec<f32>> = vec![Vec::new(); 365];
    let number = |k: usize| usize::from(YearDay::of(first + Days::new(k as u64)).number()) - 1;
    for (k, value) in values.iter().enumerate() {
        by_day[number(k)].extend(value);
    }
    let mut all: Vec<f32> = values.iter().flatten().copied().collect();
    let overall = median(&mut all).unwrap_or(0.0);
    let usual: Vec<f32> = by_day
        .iter_mut()
        .map(|day| median(day).unwrap_or(overall))
        .collect();
    let mut out: Vec<f32> = Vec::with_capacity(values.len());
    let mut long = 0;
    let mut k = 0;
    while k < values.len() {
        if let Some(value) = values[k] {
            out.push(value);
            k += 1;
            continue;
        }
        let gap = values[k..].iter().take_while(|v| v.is_none()).count();
        let before = k.checked_sub(1).and_then(|b| values[b]);
        match (before, values.get(k + gap).copied().flatten()) {
            (Some(a), Some(b)) if gap <= SHORT_GAP => {
                out.extend((1..=gap).map(|n| a + (b - a) * n as f32 / (gap + 1) as f32));
            }
            _ => {
                long += gap;
                out.extend((k..k + gap).map(|n| usual[number(n)]));
            }
        }
        k += gap;
    }
    (out, long)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::site::DayRecord;
    use crate::season::degree_days::simple;
    use crate::season::fixture::{clemson, date};

    fn freezing() -> Temperature {
        Temperature::from_f(32.0)
    }

    /// Last and first day at or below 0 °C at Clemson 1991-2020, equal in 30 of 30 years to the general climate library
    /// xclim's indices on the same values; 2005 and 2006 lack too many spring days and are left out.
    #[test]
    fn frosts_at_clemson_year_by_year() {
        let table = [
            (1991, "03-12", "11-04"),
            (1992, "04-03", "11-08"),
            (1993, "04-03", "11-01"),
            (1994, "04-01", "11-24"),
            (1995, "03-11", "11-05"),
            (1996, "04-10", "10-20"),
            (1997, "04-18", "10-28"),
            (1998, "03-23", "11-22"),
            (1999, "03-28", "10-24"),
            (2000, "03-14", "10-09"),
            (2001, "04-19", "10-18"),
            (2002, "04-06", "11-14"),
            (2003, "03-31", "11-14"),
            (2004, "03-23", "11-15"),
            (2005, "", "11-11"),
            (2006, "", "10-15"),
            (2007, "04-10", "10-30"),
            (2008, "03-25", "10-29"),
            (2009, "03-22", "10-19"),
            (2010, "03-08", "11-06"),
            (2011, "03-07", "10-30"),
            (2012, "04-12", "11-09"),
            (2013, "03-30", "10-26"),
            (2014, "04-16", "11-02"),
            (2015, "03-30", "11-14"),
            (2016, "03-22", "11-15"),
            (2017, "03-20", "11-20"),
            (2018, "04-17", "11-11"),
            (2019, "03-28", "11-03"),
            (2020, "04-11", "11-03"),
        ];
        let record = Recorded::of(&clemson()).unwrap();
        let spring = record.frosts(Side::Spring, freezing(), false);
        let fall = record.frosts(Side::Fall, freezing(), false);
        assert_eq!((spring.len(), fall.len()), (28, 30));
        for (year, last, first) in table {
            let of = |list: &[(i32, Option<NaiveDate>)]| {
                list.iter()
                    .find(|(y, _)| *y == year)
                    .map(|(_, day)| day.unwrap().format("%m-%d").to_string())
            };
            assert_eq!(
                of(&spring),
                (!last.is_empty()).then(|| last.to_owned()),
                "{year}"
            );
            assert_eq!(of(&fall), Some(first.to_owned()), "{year}");
        }
    }

    /// Type-7 quantiles of the same dates (numpy 2): first 291.9, 308.0 and 320.4 at 10, 50 and 90 %, last 70.7, 89.0 and
    /// 106.3, days of the year with leap years unadjusted, hence a day's slack.
    #[test]
    fn frost_table_of_the_record() {
        let record = Recorded::of(&clemson()).unwrap();
        for (side, want) in [
            (Side::Fall, [291.9, 308.0, 320.4]),
            (Side::Spring, [106.3, 89.0, 70.7]),
        ] {
            let row = record.frost_row(side, freezing(), false).unwrap();
            assert!((row.share - 1.0).abs() < 1e-12);
            for (k, want) in [0, 4, 8].into_iter().zip(want) {
                let got = f64::from(row.dates[k].1.number());
                assert!((got - want).abs() <= 1.0, "{side:?} {k}: {got} for {want}");
            }
        }
    }

    /// Degree-days above 10 °C at Clemson from a sowing, that day included, to the first day with the sum: worked out
    /// independently in Python with pandas on the same values.
    #[test]
    fn degree_days_at_clemson_reach_their_sum() {
        let record = Recorded::of(&clemson()).unwrap();
        for (sown, target, reached, sum) in [
            ("2018-04-25", 700.0, "2018-06-19", 708.65),
            ("2018-06-15", 700.0, "2018-07-28", 715.20),
            ("2018-08-10", 500.0, "2018-09-10", 509.70),
            ("2019-04-25", 700.0, "2019-06-18", 700.70),
            ("2020-04-25", 700.0, "2020-06-28", 708.25),
        ] {
            let (mut day, mut total) = (date(sown), 0.0);
            loop {
                let (min, max) = record.fact(day).unwrap();
                let c = |t: f32| Temperature::from_c(f64::from(t));
                total += simple(c(min), c(max), Temperature::from_c(10.0));
                if total >= target {
                    break;
                }
                day = day + Days::new(1);
            }
            assert_eq!(day, date(reached));
            assert!((total - sum).abs() < 0.01, "{sown}: {total}");
        }
    }

    /// The value that the rule must drop is like one in the long Clemson record: −57.8 °C on a July night.
    #[test]
    fn absurd_values_are_dropped_and_told() {
        let mut weather = clemson();
        let place = (date("2001-07-18") - weather.first).num_days() as usize;
        weather.days[place].min_c = Some(-57.8);
        let record = Recorded::of(&weather).unwrap();
        assert_eq!(record.fact(date("2001-07-18")), None);
        assert!(
            record
                .notes
                .iter()
                .any(|n| n.contains("-57.8") && n.contains("2001-07-18")),
            "{:?}",
            record.notes
        );
        // The values beside it are kept, and the clean record loses none.
        assert!(
            record.fact(date("2001-07-17")).is_some() && record.fact(date("2001-07-19")).is_some()
        );
        assert!(
            !Recorded::of(&clemson())
                .unwrap()
                .notes
                .iter()
                .any(|n| n.contains("dropped"))
        );
        assert!(
            Recorded::of(&clemson())
                .unwrap()
                .notes
                .iter()
                .any(|n| n.ends_with("based on 30 years."))
        );
        // Half a year at the end is named as left out.
        weather
            .days
            .truncate((date("2020-06-30") - weather.first).num_days() as usize);
        assert!(
            Recorded::of(&weather).unwrap().notes.contains(
                &"Weather is taken from Clemson, based on 29 years; left out: 2020 (too few days)."
                    .to_owned()
            )
        );
    }

    #[test]
    fn short_gaps_are_drawn_through_and_long_ones_take_the_usual_day() {
        let first = date("2001-01-01");
        let values: Vec<Option<f32>> = (0..720)
            .map(|k| {
                if (10..15).contains(&k) || (400..406).contains(&k) {
                    None
                } else {
                    Some(k as f32)
                }
            })
            .collect();
        let (out, long) = filled(first, &values);
        assert!((out[12] - 12.0).abs() < 1e-5);
        assert_eq!(long, 6);
        // The usual value of that day is the one of the other year.
        assert!((out[400] - 35.0).abs() < 1e-5, "{}", out[400]);
    }

    #[test]
    fn the_last_year_starts_no_run() {
        let record = Recorded::of(&clemson()).unwrap();
        assert_eq!(record.starts().len(), 29);
        let (min, max) = record.stand_in(date("2027-07-10"), 0, 2026);
        assert_eq!(Some((min, max)), record.fact(date("1992-07-10")));
        let mut short = clemson();
        short.days.truncate(300);
        assert!(Recorded::of(&short).is_none());
        short.days.clear();
        assert!(Recorded::of(&short).is_none());
        short.days = vec![DayRecord::default(); 800];
        assert!(Recorded::of(&short).is_none());
    }
}
