//! Tests of the proposals, on made-up evidence.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;
use crate::learning::close;
use crate::learning::evidence::{DaysEvidence, FailureEvidence, MinutesEvidence, YieldEvidence};

const BEANS: CropId = CropId(0);

fn yields(crop: CropId, bed: Option<usize>, season: i32, ratio: f64) -> YieldEvidence {
    YieldEvidence {
        crop,
        bed: bed.map(BedId),
        season,
        log_ratio: libm::log(ratio),
        weight: 1.0,
        picked_kg: ratio,
        forecast_kg: 1.0,
        known_share: 1.0,
    }
}

fn numbers() -> Numbers {
    let own = CropNumbers {
        yield_factor: 1.0,
        days_sown: Some(60.0),
        days_set_out: None,
        fail_chance: 0.1,
    };
    Numbers {
        built_in: [(BEANS, own)].into(),
        in_force: [(BEANS, own)].into(),
        ..Numbers::default()
    }
}

fn find(all: &[Proposal], subject: Subject, field: Field) -> Proposal {
    all.iter()
        .find(|p| p.subject == subject && p.field == field)
        .unwrap()
        .clone()
}

/// Makes what was proposed the number in force.
fn write(numbers: &mut Numbers, all: &[Proposal]) {
    for p in all {
        match (p.subject, p.field) {
            (Subject::Crop(crop), field) => {
                let own = numbers.in_force.get_mut(&crop).unwrap();
                match field {
                    Field::YieldFactor => own.yield_factor = p.after,
                    Field::DaysSown => own.days_sown = Some(p.after),
                    Field::DaysSetOut => own.days_set_out = Some(p.after),
                    Field::FailChance => own.fail_chance = p.after,
                    Field::MinutesFactor => unreachable!(),
                }
            }
            (Subject::Bed(bed), _) => {
                numbers.beds.insert(bed, p.after);
            }
            (Subject::Kitchen, _) => numbers.minutes = Some(p.after),
        }
    }
}

fn evidence() -> Evidence {
    Evidence {
        yields: vec![
            yields(BEANS, None, 2024, 0.7),
            yields(BEANS, None, 2025, 0.6),
            yields(BEANS, None, 2026, 0.8),
            yields(BEANS, Some(1), 2024, 0.5),
            yields(BEANS, Some(1), 2025, 0.4),
            yields(BEANS, Some(1), 2026, 0.5),
            yields(BEANS, Some(2), 2026, 1.0),
        ],
        days: vec![DaysEvidence {
            crop: BEANS,
            season: 2026,
            log_ratio: libm::log(1.2),
            weight: 1.0,
        }],
        failures: (0..6)
            .map(|i| FailureEvidence {
                crop: BEANS,
                season: 2026,
                failed: i < 2,
            })
            .collect(),
        minutes: vec![MinutesEvidence {
            season: 2026,
            planned_min: 100.0,
            took_min: 150.0,
        }],
    }
}

/// By hand: weights 0.64, 0.8 and 1; 2.44 of 2.44 + 0.16/0.09.
#[test]
fn yields_are_held_back_and_old_seasons_weigh_less() {
    let all = learn(&evidence(), &numbers(), 2026);
    let got = find(&all, Subject::Crop(BEANS), Field::YieldFactor);
    let mean = (0.64 * libm::log(0.7) + 0.8 * libm::log(0.6) + libm::log(0.8)) / 2.44;
    let weight = 2.44 / (2.44 + 0.16 / 0.09);
    close(Some(got.weight), weight);
    close(Some(got.seen), libm::exp(mean));
    assert_eq!(
        got.after,
        (100.0 * libm::exp(weight * mean)).round() / 100.0
    );
    assert_eq!(got.seasons, [2024, 2025, 2026]);
}

/// By hand: two failures in six and one in ten believed make 3 in 16; a day ratio of 1.2 at weight 0.41 makes 64.5 days.
#[test]
fn other_numbers() {
    let all = learn(&evidence(), &numbers(), 2026);
    let failing = find(&all, Subject::Crop(BEANS), Field::FailChance);
    assert_eq!((failing.after, failing.weight), (0.19, 6.0 / 16.0));
    let days = find(&all, Subject::Crop(BEANS), Field::DaysSown);
    let weight = 1.0 / (1.0 + 1.44);
    close(Some(days.weight), weight);
    assert_eq!(days.after, 64.5);
    assert_eq!(
        all.iter().filter(|p| p.field == Field::DaysSetOut).count(),
        0
    );
    let minutes = find(&all, Subject::Kitchen, Field::MinutesFactor);
    // 1.5 to the power 1/(1 + 0.09/0.16) = 1.2963.
    assert_eq!(minutes.after, 1.3);
}

/// By hand: seasons 0.5, 0.4 and 0.5 over what the crop is believed to give, weights 0.64, 0.8 and 1; 2.44 of
/// 2.44 + 0.16/0.0625.
#[test]
fn a_bed_needs_three_seasons_and_another_bed() {
    let all = learn(&evidence(), &numbers(), 2026);
    let bed = find(&all, Subject::Bed(BedId(1)), Field::YieldFactor);
    let crop_weight = 2.44 / (2.44 + 0.16 / 0.09);
    let crop = crop_weight * (0.64 * libm::log(0.7) + 0.8 * libm::log(0.6) + libm::log(0.8)) / 2.44;
    let mean = (1.64 * libm::log(0.5) + 0.8 * libm::log(0.4)) / 2.44 - crop;
    let weight = 2.44 / (2.44 + 0.16 / 0.0625);
    close(Some(bed.weight), weight);
    close(Some(bed.seen), libm::exp(mean));
    assert_eq!(
        bed.after,
        (100.0 * libm::exp(weight * mean)).round() / 100.0
    );
    assert_eq!(bed.seasons, [2024, 2025, 2026]);
    let beds = |all: &[Proposal]| {
        let of = all.iter().filter(|p| matches!(p.subject, Subject::Bed(_)));
        of.count()
    };
    assert_eq!(beds(&all), 1);
    let mut alone = evidence();
    alone.yields.pop();
    assert_eq!(beds(&learn(&alone, &numbers(), 2026)), 0);
}

/// Two crops of one season are one season: the second crop, seen at the same ratio, makes the bed no surer.
#[test]
fn crops_of_a_season_count_together_for_their_bed() {
    let one = learn(&evidence(), &numbers(), 2026);
    let mut two = evidence();
    let again: Vec<YieldEvidence> = two
        .yields
        .iter()
        .filter(|e| e.bed.is_some())
        .copied()
        .collect();
    two.yields.extend(again);
    let two = learn(&two, &numbers(), 2026);
    let bed = |all: &[Proposal]| find(all, Subject::Bed(BedId(1)), Field::YieldFactor);
    assert_eq!(bed(&one).after, bed(&two).after);
    close(Some(bed(&two).weight), bed(&one).weight);
}

#[test]
fn running_it_twice_changes_nothing() {
    let mut numbers = numbers();
    let first = learn(&evidence(), &numbers, 2026);
    assert_eq!(first.iter().filter(|p| p.changes()).count(), 5);
    write(&mut numbers, &first);
    let second = learn(&evidence(), &numbers, 2026);
    assert_eq!(first.len(), second.len());
    for (a, b) in first.iter().zip(&second) {
        assert_eq!(a.after, b.after);
        assert!(!b.changes(), "{b:?}");
    }
}

#[test]
fn no_evidence_proposes_nothing() {
    assert_eq!(learn(&Evidence::default(), &numbers(), 2026), []);
}
