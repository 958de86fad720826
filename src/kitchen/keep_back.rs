//! What is kept back for fresh eating when a session is held: need comes before goals.
//!
//! Of a picking enough until the next one, of what stands enough for as long as it holds.

use super::context::Context;
use super::scratch::Scratch;

/// Days of need for which surplus of a picking is kept back at most.
const KEEP_BACK_DAYS: u16 = 4;

/// Keeps back what the needs will eat: of a picking until the next one, of what stands for as long as it holds.
pub(super) fn keep_back(ctx: &Context, s: &mut Scratch, day: u16) {
    let a = &mut s.allocation;
    a.keep_standing.fill(0.0);
    a.keep_waiting.fill(0.0);
    a.usable.fill(0.0);
    for &n in &ctx.needs_on[usize::from(day)] {
        let need = &ctx.needs[usize::from(n)];
        if !need.crops.meets_either(&s.standing_set, &s.waiting_set) {
            continue;
        }
        let mut days_standing = 0;
        let mut days_waiting = 0;
        a.who.clear();
        let mut from = 0;
        while let Some(c) = need.crops.next_in_both(&s.standing_set, from) {
            from = c + 1;
            days_standing = days_standing.max(s.standing[c].newest_limit().saturating_sub(day));
            a.who.push(c);
        }
        let stand = a.who.len();
        from = 0;
        while let Some(c) = need.crops.next_in_both(&s.waiting_set, from) {
            from = c + 1;
            let k = &ctx.crops[c];
            days_waiting = days_waiting.max(k.pick_every.min(k.last_days).min(KEEP_BACK_DAYS));
            a.who.push(c);
        }
        // What keeps longest is kept back first, and what stands before what waits.
        let mut left = need.per_day_kg * f64::from(days_standing.max(days_waiting));
        for &c in a.who[..stand].iter().rev() {
            let t = (s.standing[c].kg - a.keep_standing[c]).clamp(0.0, left);
            a.keep_standing[c] += t;
            left -= t;
        }
        left = left.min(need.per_day_kg * f64::from(days_waiting));
        for &c in a.who[stand..].iter().rev() {
            let t = (s.lots[c].kg - a.keep_waiting[c]).clamp(0.0, left);
            a.keep_waiting[c] += t;
            left -= t;
        }
    }
    a.usable_set.clear();
    let mut from = 0;
    while let Some(c) = s.waiting_set.next(from) {
        from = c + 1;
        a.usable[c] = (s.lots[c].kg - a.keep_waiting[c]).max(0.0);
        a.usable_set.set(c, a.usable[c] > 0.0);
    }
    a.spare_set.clear();
    from = 0;
    while let Some(c) = s.standing_set.next(from) {
        from = c + 1;
        a.spare_set.set(c, s.standing[c].kg > a.keep_standing[c]);
    }
}
