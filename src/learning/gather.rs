//! From draws of the season to weekly amounts by food.
//!
//! Fill one [`Gathered`] for each run of draws, in their order, then join them: the order of the runs is the order of
//! the draws, whatever thread filled them.

use super::draws::WeeklyDraws;
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::week::Week;
use crate::season::draw::SeasonDraw;
use std::collections::BTreeSet;

/// Weekly amounts of some draws, by food.
#[derive(Debug, Clone)]
pub struct Gathered {
    weeks: usize,
    /// For each planting its food and its second food, as places in `crops`.
    places: Vec<(usize, Option<usize>)>,
    crops: Vec<CropId>,
    /// Amounts, kg. Shape: draws × foods × weeks.
    kg: Vec<f32>,
}

impl Gathered {
    /// Starts without a draw. `weeks` is the length of the horizon in weeks.
    #[must_use]
    pub fn new(garden: &Garden, weeks: usize) -> Self {
        let foods = |i: usize| {
            let crop = garden.plantings[i].crop;
            (crop, garden.crop(crop).second.as_ref().map(|s| s.crop))
        };
        let all = 0..garden.plantings.len();
        let mut crops: Vec<CropId> = all
            .clone()
            .flat_map(|i| [Some(foods(i).0), foods(i).1])
            .flatten()
            .collect();
        crops.sort_unstable();
        crops.dedup();
        let place = |crop| crops.binary_search(&crop).ok();
        let places = all
            .filter_map(|i| Some((place(foods(i).0)?, foods(i).1.and_then(place))))
            .collect();
        Self {
            weeks,
            places,
            crops,
            kg: Vec::new(),
        }
    }

    /// Starts without a draw; what one bed gives of one crop counts as a food, second foods are left out. Returns with it
    /// the beds and crops, in order.
    #[must_use]
    pub fn by_bed(garden: &Garden, weeks: usize) -> (Vec<(BedId, CropId)>, Self) {
        let pairs = garden.plantings.iter().map(|p| (p.bed, p.crop));
        let all: Vec<(BedId, CropId)> =
            pairs.clone().collect::<BTreeSet<_>>().into_iter().collect();
        let places = pairs
            .filter_map(|pair| Some((all.binary_search(&pair).ok()?, None)))
            .collect();
        let gathered = Self {
            weeks,
            places,
            crops: all.iter().map(|&(_, crop)| crop).collect(),
            kg: Vec::new(),
        };
        (all, gathered)
    }

    /// Adds the next draw. Amounts beyond the last week are left out.
    pub fn push(&mut self, draw: &SeasonDraw) {
        self.push_where(draw, |_| true);
    }

    /// Adds the next draw, of the wanted plantings only.
    pub fn push_where(&mut self, draw: &SeasonDraw, wanted: impl Fn(PlantingId) -> bool) {
        let from = self.kg.len();
        self.kg.resize(from + self.crops.len() * self.weeks, 0.0);
        for ready in &draw.ready {
            if !wanted(PlantingId(ready.planting as usize)) {
                continue;
            }
            let (main, second) = self.places[ready.planting as usize];
            let food = if ready.second { second } else { Some(main) };
            let week = usize::from(ready.day / 7);
            if let Some(food) = food
                && week < self.weeks
            {
                self.kg[from + food * self.weeks + week] += ready.kg;
            }
        }
    }

    /// Adds the next draw, as amounts in kg of crops on days of the horizon. Crops that the garden does not grow are left
    /// out.
    pub fn push_amounts(&mut self, amounts: impl Iterator<Item = (CropId, u16, f32)>) {
        let from = self.kg.len();
        self.kg.resize(from + self.crops.len() * self.weeks, 0.0);
        for (crop, day, kg) in amounts {
            let week = usize::from(day / 7);
            if let Ok(food) = self.crops.binary_search(&crop)
                && week < self.weeks
            {
                self.kg[from + food * self.weeks + week] += kg;
            }
        }
    }

    /// Joins runs of draws into one forecast a food, in the order of the crop table. `first` is the first week.
    #[must_use]
    pub fn join(runs: &[Self], first: Week) -> Vec<WeeklyDraws> {
        Self::join_where(runs, first, |_| true)
    }

    /// Joins runs of draws into one forecast for each wanted food, in the order of the crop table.
    #[must_use]
    pub fn join_where(
        runs: &[Self],
        first: Week,
        wanted: impl Fn(CropId) -> bool,
    ) -> Vec<WeeklyDraws> {
        let Some(one) = runs.first() else {
            return Vec::new();
        };
        let each = one.crops.len() * one.weeks;
        let draws: usize = runs.iter().map(|run| run.kg.len() / each.max(1)).sum();
        (one.crops.iter().enumerate())
            .filter(|(_, crop)| wanted(**crop))
            .filter_map(|(food, &crop)| {
                let own = food * one.weeks..(food + 1) * one.weeks;
                let mut kg = vec![0.0; one.weeks * draws];
                let all = runs.iter().flat_map(|run| run.kg.chunks_exact(each.max(1)));
                for (draw, of_draw) in all.enumerate() {
                    for (week, &of_week) in of_draw[own.clone()].iter().enumerate() {
                        kg[week * draws + draw] = of_week;
                    }
                }
                WeeklyDraws::new(crop, first, draws, kg)
            })
            .collect()
    }
}
