//! Lots that wait in the kitchen: amounts with the day they were picked and the last day on which they are fit.
//!
//! One queue a crop, oldest first. Knows no products.

/// An amount of one crop picked on one day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lot {
    /// Day it was picked; negative before the horizon.
    pub(super) picked: i32,
    /// Last day on which it is fit.
    pub(super) last: u16,
    /// Day on which a session must be held for it, or never.
    pub(super) trigger: u16,
    /// Product for which that day was found.
    pub(super) plan: u16,
    /// Whether it must not be canned: unripe, or the crop was killed by frost.
    pub(super) no_can: bool,
    /// Amount, kg.
    pub(super) kg: f64,
}

/// The waiting lots of one crop, oldest first.
#[derive(Debug, Clone, Default)]
pub(super) struct LotQueue {
    pub(super) lots: Vec<Lot>,
    /// Sum of the lots, kg.
    pub(super) kg: f64,
}

/// Amounts below this are nothing, kg.
pub(super) const NOTHING_KG: f64 = 1e-12;

impl LotQueue {
    pub(super) fn clear(&mut self) {
        self.lots.clear();
        self.kg = 0.0;
    }

    pub(super) fn push(&mut self, lot: Lot) {
        self.kg += lot.kg;
        self.lots.push(lot);
    }

    /// Takes up to an amount from the lots that suit, oldest first, shows each lot with what it gave, and returns what
    /// was taken, kg.
    pub(super) fn take(
        &mut self,
        want_kg: f64,
        suits: impl Fn(&Lot) -> bool,
        mut gave: impl FnMut(&Lot, f64),
    ) -> f64 {
        let mut left = want_kg;
        let mut emptied = false;
        for lot in &mut self.lots {
            if left <= 0.0 {
                break;
            }
            if suits(lot) {
                let t = lot.kg.min(left);
                lot.kg -= t;
                left -= t;
                gave(lot, t);
                emptied |= lot.kg <= 0.0;
            }
        }
        if emptied {
            self.lots.retain(|l| l.kg > 0.0);
        }
        self.recount();
        want_kg - left.max(0.0)
    }

    /// Takes up to an amount, oldest first, and returns what was taken, kg.
    pub(super) fn take_oldest(&mut self, want_kg: f64) -> f64 {
        let mut left = want_kg;
        let mut gone = 0;
        for lot in &mut self.lots {
            if lot.kg > left {
                lot.kg -= left;
                left = 0.0;
                break;
            }
            left -= lot.kg;
            gone += 1;
        }
        if gone > 0 {
            self.lots.drain(..gone);
        }
        self.recount();
        want_kg - left
    }

    /// Returns the last day of the lot that goes first; lots of a crop keep equally long, so it is the oldest.
    pub(super) fn next_last(&self) -> u16 {
        self.lots.first().map_or(u16::MAX, |l| l.last)
    }

    /// Removes the lots that a test picks out and returns their sum, kg.
    pub(super) fn discard(&mut self, picks_out: impl Fn(&Lot) -> bool) -> f64 {
        let mut sum = 0.0;
        self.lots.retain(|l| {
            let out = picks_out(l);
            if out {
                sum += l.kg;
            }
            !out
        });
        self.recount();
        sum
    }

    /// Sums the lots anew, so that rounding never gathers.
    pub(super) fn recount(&mut self) {
        self.kg = self.lots.iter().map(|l| l.kg).sum();
    }
}
