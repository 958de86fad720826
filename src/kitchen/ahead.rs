//! What is kept for a later session of a goal, such as the canner load of Saturday: goals that rank lower leave it.
//!
//! Only a whole load waits for a certain day. Of what is planned for it no more is kept than the goal still wants.

use super::allocate::{day_holds, want_kg};
use super::context::Context;
use super::scratch::Scratch;

/// Keeps for a goal what is planned for a day that lies ahead, from the goals that rank below it.
pub(super) fn keep_ahead(ctx: &Context, s: &mut Scratch, day: u16, goal: usize) {
    for &product in &ctx.goals[goal].products {
        let p = &ctx.products[usize::from(product)];
        let waits = p.days_that_hold.is_some() && p.crops.meets(&s.allocation.usable_set);
        if !waits || day_holds(ctx, s, day, product) {
            continue;
        }
        let gathered = s.gathered_kg[usize::from(product)];
        let mut want = want_kg(ctx, s, goal, product) - gathered;
        for part in &p.parts {
            let c = usize::from(part.crop);
            let planned = (s.lots[c].lots.iter())
                .filter(|l| l.plan == product && l.trigger > day)
                .map(|l| l.kg);
            let kept = planned.sum::<f64>().min(want);
            if kept > 0.0 {
                s.allocation.kept_ahead[c] += kept;
                want -= kept;
            }
        }
    }
}
