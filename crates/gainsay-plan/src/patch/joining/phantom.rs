//! Phantom power: what a supply gives, and what flows where nothing should.

use gainsay_units::{Amperes, Ohms, Volts};

/// A kind of phantom power (IEC 61938:2018).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phantom {
    /// Voltage of the supply, direct.
    pub supply: Volts,
    /// Resistor between the supply and each leg.
    pub feed: Ohms,
    /// Most current that a microphone may draw, through both legs together.
    pub most: Amperes,
}

impl Phantom {
    /// 48 V, the usual one.
    pub const P48: Self = Self::of(48.0, 6_800.0, 10e-3);
    /// 24 V.
    pub const P24: Self = Self::of(24.0, 1_200.0, 10e-3);
    /// 12 V.
    pub const P12: Self = Self::of(12.0, 680.0, 15e-3);
    /// 12 V for little current.
    pub const P12_LOW: Self = Self::of(12.0, 3_300.0, 4e-3);
    /// 48 V for much current.
    pub const P48_STRONG: Self = Self::of(48.0, 2_200.0, 22e-3);

    const fn of(volts: f64, ohms: f64, amperes: f64) -> Self {
        Self { supply: Volts::new(volts), feed: Ohms::new(ohms), most: Amperes::new(amperes) }
    }

    /// What flows into a short circuit of one leg to the screen, as an unbalanced plug makes it.
    #[must_use]
    pub fn into_one_leg(self) -> Amperes {
        Amperes::new(self.supply.volts() / self.feed.ohms())
    }

    /// What flows into a short circuit of both legs to the screen, the two feeds side by side.
    #[must_use]
    pub fn into_both_legs(self) -> Amperes {
        self.into_one_leg() * 2.0
    }

    /// The voltage that is left at a microphone which draws a current through both legs, direct; below zero where the supply
    /// can't give it.
    #[must_use]
    pub fn left_at(self, current: Amperes) -> Volts {
        Volts::new(self.supply.volts() - current.amperes() * self.feed.ohms() / 2.0)
    }
}
