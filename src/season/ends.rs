//! What ends a planting: cold on its day, and bolting with its beginning.
//!
//! Sources: kill temperatures stand in the crop table; that light counts only while days lengthen, and after 0.3 of the
//! days to maturity, and heat after 0.6: judgement, so that a fall collard does not bolt in its own autumn.

use super::growth::{UNIT, reach, reach_growing};

/// Share of development after which heat brings bolting nearer.
const HEAT_FROM: f64 = 0.6;
/// Share of development after which light brings bolting nearer.
const LIGHT_FROM: f64 = 0.3;

/// First and last day of one threshold in one cold season, on the horizon; `first > last` means it never comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ColdSpan {
    /// First day with such cold.
    pub(crate) first: i32,
    /// Last day with such cold.
    pub(crate) last: i32,
}

impl ColdSpan {
    /// A cold season without such cold.
    pub(crate) const NEVER: Self = Self { first: 1, last: 0 };
}

/// Cold of one draw.
#[derive(Debug, Clone, Default)]
pub(crate) struct Cold {
    /// Number of cold seasons.
    pub(crate) winters: usize,
    /// Spans, threshold by threshold, within each the cold seasons in order.
    pub(crate) spans: Vec<ColdSpan>,
    /// Thresholds, °C.
    pub(crate) thresholds_c: Vec<f32>,
    /// Known minimum of each day before today, °C; only these count there.
    pub(crate) past_min_c: Vec<f32>,
}

impl Cold {
    /// Returns the first day in `from..until` on which the minimum is at or below a threshold.
    ///
    /// Within a span the first and the last day are so cold for certain, the days between as the day's minimum says.
    pub(crate) fn first_day(
        &self,
        threshold: usize,
        min_c: &[f32],
        from: usize,
        until: usize,
    ) -> Option<usize> {
        let today = self.past_min_c.len();
        if from < today {
            let limit = self.thresholds_c[threshold];
            let past = &self.past_min_c[from..until.min(today)];
            if let Some(k) = past.iter().position(|&t| t <= limit) {
                return Some(from + k);
            }
        }
        let from = from.max(today);
        if from >= until {
            return None;
        }
        let spans = &self.spans[threshold * self.winters..(threshold + 1) * self.winters];
        for span in spans {
            if span.first > span.last || span.last < from as i32 {
                continue;
            }
            if span.first >= until as i32 {
                return None;
            }
            if span.first >= from as i32 {
                return Some(span.first as usize);
            }
            let last = span.last as usize;
            let limit = self.thresholds_c[threshold];
            let inner = min_c.get(from..last.min(until)).unwrap_or(&[]);
            if let Some(k) = inner.iter().position(|&t| t <= limit) {
                return Some(from + k);
            }
            return (last < until).then_some(last);
        }
        None
    }
}

/// Days on which a planting has the same cover, and the thresholds that count for it then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cover {
    /// First day.
    pub(crate) from: u16,
    /// First day after.
    pub(crate) until: u16,
    /// Index of the threshold that kills it.
    pub(crate) kills: Option<u16>,
    /// Index of the threshold that spoils what stands.
    pub(crate) spoils: Option<u16>,
}

/// Returns the first day from `from` on that is cold enough under the cover of that day.
pub(crate) fn first_cold(
    covers: &[Cover],
    threshold: impl Fn(&Cover) -> Option<u16>,
    cold: &Cold,
    min_c: &[f32],
    from: usize,
    until: usize,
) -> Option<usize> {
    for cover in covers {
        let start = from.max(usize::from(cover.from));
        let stop = until.min(usize::from(cover.until));
        if start >= stop {
            continue;
        }
        let Some(index) = threshold(cover) else {
            continue;
        };
        if let Some(day) = cold.first_day(usize::from(index), min_c, start, stop) {
            return Some(day);
        }
    }
    None
}

/// What a planting needs to bolt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BoltNeed {
    /// Index of the sum of growing days under heat; those under light and under either follow it.
    pub(crate) sums: usize,
    /// Growing days under heat or light until it bolts, in steps.
    pub(crate) growing: u32,
    /// Index of the sum of cold days and how many of them light waits for, for biennials.
    pub(crate) after_chill: Option<(usize, u32)>,
}

/// Returns the day on which a planting bolts.
pub(crate) fn bolts(
    need: &BoltNeed,
    sums: &[Vec<u32>],
    growth: &[u32],
    start: usize,
    maturity: u32,
    limit: usize,
) -> Option<usize> {
    // Most sowings never see so much heat or light.
    if sums[need.sums + 2][limit] - sums[need.sums + 2][start] < need.growing {
        return None;
    }
    let share = |part: f64| (f64::from(maturity) * part) as u32;
    let heat_from = reach_growing(growth, start, share(HEAT_FROM), limit).unwrap_or(limit);
    let mut light_from = reach_growing(growth, start, share(LIGHT_FROM), limit).unwrap_or(limit);
    if let Some((chill, days)) = need.after_chill {
        light_from = light_from.max(reach(&sums[chill], start, days, limit).unwrap_or(limit));
    }
    let (first, second) = (heat_from.min(light_from), heat_from.max(light_from));
    if first >= limit {
        return None;
    }
    let alone = if heat_from <= light_from {
        &sums[need.sums]
    } else {
        &sums[need.sums + 1]
    };
    if let Some(day) = reach_growing(alone, first, need.growing, second) {
        return Some(day);
    }
    if second >= limit {
        return None;
    }
    let left = need.growing.saturating_sub(alone[second] - alone[first]);
    reach_growing(&sums[need.sums + 2], second, left, limit)
}

/// Turns growing days into steps of the running sums.
pub(crate) fn steps(growing_days: f64) -> u32 {
    (growing_days.clamp(0.0, 10_000.0) * UNIT + 0.5) as u32
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn cold(spans: &[(i32, i32)]) -> Cold {
        Cold {
            winters: spans.len(),
            spans: spans
                .iter()
                .map(|&(first, last)| ColdSpan { first, last })
                .collect(),
            thresholds_c: vec![0.0],
            past_min_c: Vec::new(),
        }
    }

    #[test]
    fn cold_comes_first_and_last_on_its_drawn_days() {
        let mut min = vec![5.0_f32; 100];
        min[30] = -1.0;
        min[80] = -1.0;
        let c = cold(&[(20, 40), (70, 90)]);
        for (from, until, want) in [
            (0, 100, Some(20)),
            (20, 100, Some(20)),
            (21, 100, Some(30)),
            (31, 100, Some(40)),
            (31, 40, None),
            (41, 100, Some(70)),
            (0, 20, None),
            (91, 100, None),
            (81, 100, Some(90)),
        ] {
            assert_eq!(c.first_day(0, &min, from, until), want, "{from}..{until}");
        }
        let never = Cold {
            spans: vec![ColdSpan::NEVER; 2],
            ..c
        };
        assert_eq!(never.first_day(0, &min, 0, 100), None);
    }

    #[test]
    fn a_cover_put_on_in_time_saves_the_plant() {
        let min = vec![5.0_f32; 100];
        let mut c = cold(&[(20, 40)]);
        c.spans.push(ColdSpan {
            first: 30,
            last: 35,
        });
        c.winters = 1;
        c.thresholds_c = vec![0.0, -2.0];
        let cover = |from, until, kills| Cover {
            from,
            until,
            kills: Some(kills),
            spoils: None,
        };
        let bare = [cover(0, 100, 0)];
        let late = [cover(0, 25, 0), cover(25, 100, 1)];
        let timely = [cover(0, 15, 0), cover(15, 100, 1)];
        for (covers, want) in [(&bare[..], 20), (&late[..], 20), (&timely[..], 30)] {
            assert_eq!(
                first_cold(covers, |k| k.kills, &c, &min, 0, 100),
                Some(want)
            );
        }
    }
}
