//! From draws of the season to a judged forecast, on a made-up garden.
#![allow(clippy::unwrap_used, reason = "tests")]

mod made_garden;

use made_garden::{BEET_GREENS, BEETS, KALE, date, garden};
use putby::garden::crop::CropId;
use putby::garden::week::Week;
use putby::learning::gather::Gathered;
use putby::learning::in_season::weigh_season;
use putby::learning::record::{LoggedWeeks, WeekEntry, WeekState};
use putby::season::draw::{Ready, ReadyKind, SeasonDraw};

fn draw(amounts: &[(u16, u32, bool, f32)]) -> SeasonDraw {
    SeasonDraw {
        ready: amounts
            .iter()
            .map(|&(day, planting, second, kg)| Ready {
                day,
                planting,
                second,
                kind: ReadyKind::Picking,
                kg,
            })
            .collect(),
        ..SeasonDraw::default()
    }
}

#[test]
fn draws_become_weeks_by_food() {
    let g = garden();
    let first = Week::of(date("2026-06-01"));
    // Kale of two beds in week 0, beets and their leaves in week 1; the second run holds one draw.
    let mut a = Gathered::new(&g, 3);
    a.push(&draw(&[
        (0, 1, false, 1.0),
        (6, 2, false, 0.5),
        (7, 4, true, 0.25),
        (13, 4, false, 2.0),
    ]));
    a.push(&draw(&[(20, 4, false, 3.0), (21, 4, false, 9.0)]));
    let mut b = Gathered::new(&g, 3);
    b.push(&draw(&[(2, 1, false, 4.0)]));
    let all = Gathered::join(&[a, b], first);
    let of = |crop: usize, week: i64| {
        let food = all.iter().find(|f| f.crop == CropId(crop)).unwrap();
        food.of_week(first.plus(week)).unwrap().to_vec()
    };
    assert_eq!(of(KALE, 0), [1.5, 0.0, 4.0]);
    assert_eq!(of(BEETS, 1), [2.0, 0.0, 0.0]);
    assert_eq!(of(BEET_GREENS, 1), [0.25, 0.0, 0.0]);
    // Day 21 lies beyond the third week.
    assert_eq!(of(BEETS, 2), [0.0, 3.0, 0.0]);
    assert_eq!(Gathered::join(&[], first), []);

    // Four kilograms of kale in the first week: the third draw it was.
    let picked = |kg| WeekEntry {
        state: WeekState::Picked,
        kg,
        guessed_kg: 0.0,
        away_days: 0,
    };
    let record = [LoggedWeeks {
        crop: CropId(KALE),
        planting: None,
        first,
        weeks: vec![picked(4.0), picked(1.0)],
    }];
    let weighed = weigh_season(&all, &record, first.plus(1)).unwrap();
    assert!(weighed.weights[2] > 0.9, "{weighed:?}");
    let anew = weighed.drawn_anew(1);
    let kale = all.iter().find(|f| f.crop == CropId(KALE)).unwrap();
    let last = *anew.last().unwrap() as usize;
    assert_eq!(kale.of_week(first).unwrap()[last], 4.0);
    // Before anything is known every draw counts the same.
    let none = weigh_season(&all, &record, first).unwrap();
    assert_eq!((none.effective, none.temper), (3.0, 1.0));
    assert!(weigh_season(&[], &record, first).is_none());
}
