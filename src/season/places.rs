//! At which places of the ensemble each planting's draws stand: each at its own, or where the pickings so far put them.
//!
//! A draw of a crop that agrees with what was picked of it stands at several places, one that does not at none. Crops are
//! moved each by itself, and only within a chunk, so that what comes together at a place is known when the chunk is done.
//! Decides nothing itself.

use super::ensemble::CHUNK;

/// The places at which draws of plantings stand.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Places {
    /// For each planting what moves it, if anything does.
    movers: Vec<Option<usize>>,
    moved: Vec<Moved>,
}

/// Draws that were moved together: the places of each.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Moved {
    /// Where the places of each draw begin in the list, and its end.
    starts: Vec<u32>,
    places: Vec<u32>,
    /// The draw of each place.
    order: Vec<u32>,
}

impl Places {
    /// Says whether every draw of every planting stands at its own place.
    pub(crate) fn untouched(&self) -> bool {
        self.moved.is_empty()
    }
    /// Moves the draws of some plantings.
    ///
    /// Shape: `wanted` has one element a planting; `order` names for each place its draw, of the same chunk.
    pub(crate) fn shift(&mut self, wanted: impl Iterator<Item = bool>, order: &[u32]) {
        let in_chunk = |(place, &draw): (usize, &u32)| place as u32 / CHUNK == draw / CHUNK;
        debug_assert!(order.iter().enumerate().all(in_chunk));
        let mut starts = vec![0; order.len() + 1];
        for &draw in order {
            starts[draw as usize + 1] += 1;
        }
        for draw in 1..starts.len() {
            starts[draw] += starts[draw - 1];
        }
        let mut next = starts.clone();
        let mut places = vec![0; order.len()];
        for (place, &draw) in (0..).zip(order) {
            let slot = &mut next[draw as usize];
            places[*slot as usize] = place;
            *slot += 1;
        }
        let this = self.moved.len();
        self.moved.push(Moved {
            starts,
            places,
            order: order.to_vec(),
        });
        for (planting, wanted) in wanted.enumerate() {
            if self.movers.len() <= planting {
                self.movers.push(None);
            }
            if wanted {
                self.movers[planting] = Some(this);
            }
        }
    }
    /// Returns the draw of a planting that stands at a place.
    pub(crate) fn draw_at(&self, planting: usize, place: u32) -> u32 {
        match self.movers.get(planting).copied().flatten() {
            None => place,
            Some(which) => self.moved[which].order[place as usize],
        }
    }
    /// Returns the places at which a draw of a planting stands.
    pub(crate) fn of(&self, planting: usize, draw: u32) -> impl Iterator<Item = u32> + '_ {
        let moved = self.movers.get(planting).copied().flatten();
        let (own, elsewhere) = match moved {
            None => (Some(draw), &[][..]),
            Some(which) => {
                let Moved { starts, places, .. } = &self.moved[which];
                let at = draw as usize;
                (None, &places[starts[at] as usize..starts[at + 1] as usize])
            }
        };
        own.into_iter().chain(elsewhere.iter().copied())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::crop::CropId;
    use crate::season::draw::SeasonDraw;
    use crate::season::ensemble::{Settings, run};
    use crate::season::fixture::{self, date};
    use crate::season::forecast::{By, Whose, forecast};
    use crate::season::plan::compile;
    use crate::season::windows::windows;

    #[test]
    fn only_what_is_moved_moves() {
        let mut places = Places::default();
        let of = |p: &Places, planting, draw| p.of(planting, draw).collect::<Vec<u32>>();
        assert!(places.untouched());
        assert_eq!(of(&places, 7, 3), [3]);
        places.shift([false, true].into_iter(), &[2, 2, 0, 2]);
        assert!(!places.untouched());
        assert_eq!(of(&places, 0, 1), [1]);
        assert_eq!(of(&places, 1, 2), [0, 1, 3]);
        assert_eq!(of(&places, 1, 0), [2]);
        assert!(of(&places, 1, 3).is_empty());
    }

    /// Whoever gathers draws sees the same seasons: at each place every planting as in the draw that was put there.
    #[test]
    fn every_answer_goes_by_places() {
        let garden = fixture::year();
        let settings = Settings {
            draws: 300,
            seed: 1,
        };
        let mut plan = compile(&garden, date("2026-03-01"));
        let all = |plan: &_| {
            let keep = |list: &mut Vec<SeasonDraw>, _, draw: &SeasonDraw| list.push(draw.clone());
            run(plan, &settings, |_| Vec::new(), keep).concat()
        };
        let before = all(&plan);
        let crop = garden.plantings[1].crop;
        // Within each chunk all places get one draw, the last chunk being a short one.
        let order: Vec<u32> = (0..300).map(|i| if i < 250 { 7 } else { 260 }).collect();
        plan.move_draws(&[(vec![crop], order.clone())], "moved".to_owned());
        let after = all(&plan);
        assert_eq!(after.len(), 300);
        for (place, draw) in after.iter().enumerate() {
            let from = |planting: u32| {
                let moves = garden.plantings[planting as usize].crop == crop;
                &before[if moves { order[place] as usize } else { place }]
            };
            assert!(
                draw.ready
                    .is_sorted_by_key(|r| (r.day, r.planting, r.second))
            );
            for planting in 0..garden.plantings.len() as u32 {
                let old = from(planting);
                assert_eq!(
                    draw.outcomes[planting as usize],
                    old.outcomes[planting as usize]
                );
                let of = |d: &SeasonDraw| {
                    let own = d.ready.iter().filter(|r| r.planting == planting);
                    own.copied().collect::<Vec<_>>()
                };
                assert_eq!(of(draw), of(old));
            }
        }
        // Means of the other verbs' figures from the same seasons.
        let mean = |planting: usize| {
            let kg = after
                .iter()
                .map(|d| f64::from(d.outcomes[planting].kg_ready));
            kg.sum::<f64>() / 300.0
        };
        let found = windows(&plan, &settings);
        for (planting, window) in found.iter().enumerate() {
            assert!((window.kg.mean - mean(planting)).abs() < 1e-5 * (1.0 + mean(planting)));
        }
        let rows = forecast(&plan, &settings, By::Crop).rows;
        let row = rows.iter().find(|r| r.whose == Whose::Crop(crop)).unwrap();
        let CropId(_) = crop;
        let crop_mean: f64 = (0..garden.plantings.len())
            .filter(|&k| garden.plantings[k].crop == crop)
            .map(mean)
            .sum();
        assert!((row.total.mean - crop_mean).abs() < 1e-4 * (1.0 + crop_mean));
        assert_eq!(plan.heard(), Some("moved"));
    }
}
