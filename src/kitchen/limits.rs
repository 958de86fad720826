//! Equipment in use: trays, dryer, crocks, the freezer's intake and room, jars, lids and bags.
//!
//! These are limits, not minutes: what they do not take goes to the next product or waits.
//! Trays take one load an evening, for a load freezes for two to four hours; a crock is taken by one lot from the day it is
//! filled until its time is over, for a ferment is not opened to add to it.

use super::context::Context;
use super::wanted::{KitchenProduct, Vessel};
use crate::garden::preserving::{Appliance, Store};

/// Equipment in use in one draw.
#[derive(Debug, Clone)]
pub(super) struct Limits {
    /// Day the figures of the day belong to.
    day: u16,
    trays_left_kg: f64,
    freezer_left_kg: f64,
    /// Day from which the dryer is free.
    dryer_free: u16,
    dryer_left_kg: f64,
    /// Day from which each crock is free.
    crocks_free: Vec<u16>,
    jars: f64,
    lids: f64,
    bags: f64,
}

impl Limits {
    pub(super) fn new(ctx: &Context) -> Self {
        let mut new = Self {
            day: 0,
            trays_left_kg: 0.0,
            freezer_left_kg: 0.0,
            dryer_free: 0,
            dryer_left_kg: 0.0,
            crocks_free: vec![0; ctx.equipment.crocks],
            jars: 0.0,
            lids: 0.0,
            bags: 0.0,
        };
        new.reset(ctx);
        new
    }

    pub(super) fn reset(&mut self, ctx: &Context) {
        let e = &ctx.equipment;
        self.day = u16::MAX;
        self.dryer_free = 0;
        self.crocks_free.fill(0);
        (self.jars, self.lids, self.bags) = (e.jars, e.lids, e.bags);
    }

    /// Turns to a new day: trays, dryer and freezer take their daily amount again.
    pub(super) fn turn_to(&mut self, ctx: &Context, day: u16) {
        if self.day != day {
            self.day = day;
            self.trays_left_kg = ctx.equipment.trays_kg;
            self.dryer_left_kg = if self.dryer_free <= day {
                ctx.equipment.dryer_kg
            } else {
                0.0
            };
            self.freezer_left_kg = ctx.equipment.freezer_kg_per_day;
        }
    }

    /// Returns how much of a product, in garden weight, the equipment takes today; `room_l` is free freezer room.
    pub(super) fn most_kg(
        &self,
        product: &KitchenProduct,
        appliance: Appliance,
        begun: f64,
        room_l: f64,
    ) -> f64 {
        let per = product.kg_per_container;
        let mut containers = f64::INFINITY;
        if product.store == Store::Freezer {
            containers = containers
                .min(self.freezer_left_kg / product.packed_kg.max(1e-9))
                .min(room_l / product.room_l.max(1e-9));
        }
        // A container begun earlier takes its rest without a new vessel.
        let vessels = match product.vessel {
            Vessel::Jar if product.canned => self.jars.min(self.lids),
            Vessel::Jar => self.jars,
            Vessel::Bag => self.bags,
            Vessel::Other => f64::INFINITY,
        };
        containers = containers.min(vessels + begun);
        let kg = (containers * per).max(0.0);
        match appliance {
            Appliance::Tray => kg.min(self.trays_left_kg),
            Appliance::Dryer => kg.min(self.dryer_left_kg),
            Appliance::Crock if !self.crocks_free.iter().any(|f| *f <= self.day) => 0.0,
            _ => kg,
        }
    }

    /// Says whether the freezer alone holds a product back today.
    pub(super) fn freezer_short(
        &self,
        product: &KitchenProduct,
        room_l: f64,
        want_kg: f64,
    ) -> bool {
        product.store == Store::Freezer
            && want_kg / product.kg_per_container * product.packed_kg
                > self
                    .freezer_left_kg
                    .min(room_l / product.room_l.max(1e-9) * product.packed_kg)
                    + 1e-9
    }

    /// Takes the equipment for an amount made today; `vessels` are the containers newly begun.
    pub(super) fn use_up(
        &mut self,
        product: &KitchenProduct,
        appliance: Appliance,
        kg: f64,
        vessels: f64,
        first_of_session: bool,
    ) {
        let days = (product.busy_h / 24.0).ceil().clamp(0.0, 400.0) as u16;
        match appliance {
            Appliance::Tray => self.trays_left_kg -= kg,
            Appliance::Dryer => {
                self.dryer_left_kg -= kg;
                self.dryer_free = self.dryer_free.max(self.day.saturating_add(days.max(1)));
            }
            Appliance::Crock if first_of_session => {
                let (day, until) = (self.day, self.day.saturating_add(days));
                if let Some(crock) = self.crocks_free.iter_mut().find(|f| **f <= day) {
                    *crock = until;
                }
            }
            _ => {}
        }
        if product.store == Store::Freezer {
            self.freezer_left_kg -= kg / product.kg_per_container * product.packed_kg;
        }
        match product.vessel {
            Vessel::Jar => {
                self.jars -= vessels;
                if product.canned {
                    self.lids -= vessels;
                }
            }
            Vessel::Bag => self.bags -= vessels,
            Vessel::Other => {}
        }
    }

    /// Gives back jars that were emptied.
    pub(super) fn give_back(&mut self, product: &KitchenProduct, containers: f64) {
        if product.vessel == Vessel::Jar {
            self.jars += containers;
        }
    }
}
