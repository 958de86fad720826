//! temp
use super::accumulate::Accumulator;
use super::context::compile;
use super::day_by_day::{Scratch, day_by_day};
use super::fixture::{self, monday};
use crate::garden::crop::{CropId, FoodGroup};
use crate::garden::household::{Food, Goal, Need};
use crate::garden::preserving::ProductId;
use crate::garden::units::Mass;
use crate::season::draw::*;
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

#[test]
#[ignore]
fn speed() {
    let mut g = fixture::garden();
    let base = g.crops.clone();
    let basep = g.products.clone();
    for k in 1..4 {
        for c in &base {
            let mut c = c.clone();
            c.name = format!("{} {k}", c.name);
            c.second = None;
            g.crops.push(c);
        }
        for p in &basep {
            let mut p = p.clone();
            p.name = format!("{} {k}", p.name);
            for part in &mut p.parts {
                part.crop = CropId(part.crop.0 + 12 * k);
            }
            p.recipe = None;
            g.products.push(p);
        }
    }
    g.household.needs.clear();
    for (_, group) in FoodGroup::NAMES {
        g.household.needs.push(Need {
            food: Food::Group(group),
            per_week: Mass::from_lb(2.5),
            from: None,
            until: None,
        });
    }
    for c in [0, 1, 2, 3] {
        g.household.needs.push(Need {
            food: Food::Crop(CropId(c)),
            per_week: Mass::from_lb(1.0),
            from: None,
            until: None,
        });
    }
    g.household.ceiling_per_week = Mass::from_lb(20.0);
    let mut goals = Vec::new();
    for p in 0..30 {
        goals.push(Goal {
            products: vec![ProductId(p)],
            containers: 15.0,
            by: None,
            eat_per_week: Some(0.5),
        });
    }
    g.household.goals = Some(goals);
    let mut patterns = Vec::new();
    let mut rng = Pcg64Mcg::new(7);
    for k in 0..50u32 {
        let c = (k as usize) % 44;
        let t = base[0].clone();
        let _ = t;
        g.plantings.push({
            let mut x = g.plantings.last().cloned().unwrap_or_else(|| {
                let mut h = fixture::garden();
                fixture::plant(&mut h, "okra");
                h.plantings[0].clone()
            });
            x.name = format!("{k}");
            x.crop = CropId(c);
            x
        });
        let every = g.crops[c].harvest.pick_every_days as u16;
        let first = 20 + (rng.next_u32() % 250) as u16;
        let times = if every == 1 { 1 } else { 40 / every };
        patterns.push((first, every, times, if every == 1 { 20.0 } else { 2.0 }));
    }
    let ctx = compile(&g, monday(), 400, monday());
    let mut s = Scratch::new(&ctx);
    let mut draws = Vec::new();
    for _ in 0..64 {
        let mut ready = Vec::new();
        for (p, &(f, e, t, lb)) in patterns.iter().enumerate() {
            let late = (rng.next_u32() % 10) as u16;
            let k = 0.5 + (rng.next_u32() % 1000) as f64 / 1000.0;
            ready.extend(fixture::pickings(p as u32, f + late, e, t, lb * k));
        }
        let mut d = fixture::season(&g, ready);
        for (i, o) in d.outcomes.iter_mut().enumerate() {
            o.end = patterns[i].0 + 60;
            o.cause = EndCause::Cold;
        }
        let outs = d.outcomes.clone();
        d.ready.retain(|r| r.day < outs[r.planting as usize].end);
        draws.push(d);
    }
    let n: usize = std::env::var("SPEED_N").map_or(10_000, |v| v.parse().unwrap());
    let mut acc = Accumulator::new(&ctx, n);
    let (mut a, mut b) = (0.0, 0.0);
    let (mut fl, mut ss, mut ta) = (0, 0, 0);
    for k in 0..n {
        let t0 = std::time::Instant::now();
        let out = day_by_day(&ctx, &draws[k % 64], &mut s);
        let t1 = std::time::Instant::now();
        acc.add(&ctx, out);
        b += t1.elapsed().as_secs_f64();
        a += (t1 - t0).as_secs_f64();
        fl += out.flows.len();
        ss += out.sessions.len();
        ta += out.tasks.len();
    }
    let t2 = std::time::Instant::now();
    let f = super::overload::overload(&ctx, vec![acc]);
    panic!(
        "day_by_day {:.1} us, add {:.1} us, overload {:.3} s; flows {} sessions {} tasks {} crops {} products {} ready {} h {:?}",
        a / n as f64 * 1e6,
        b / n as f64 * 1e6,
        t2.elapsed().as_secs_f64(),
        fl / n,
        ss / n,
        ta / n,
        ctx.crops.len(),
        ctx.products.len(),
        draws[0].ready.len(),
        f.season.hours
    );
}
