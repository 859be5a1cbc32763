//! Cautions that go with a hint, short: the report carries the full ones.

/// What a caution is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Caution {
    /// The hot, pressurised tower and its air.
    Tower,
    /// The inside of the cabinet.
    Cabinet,
    /// Heaters and pumps.
    Electric,
    /// Coupon cleaning.
    Acid,
}

impl Caution {
    /// The caution, short and without a full stop, to end a list with.
    pub(super) fn says(self) -> &'static str {
        match self {
            Caution::Tower => {
                "Caution: the tower is hot and under pressure: vent it and let it cool first; local codes apply"
            }
            Caution::Cabinet => {
                "Caution: purge the fog and let hot surfaces cool before opening; the solution's safety data sheet applies"
            }
            Caution::Electric => {
                "Caution: electricity beside brine: isolate the supply, and leave wiring to licensed practice"
            }
            Caution::Acid => {
                "Caution: coupon cleaning uses inhibited hydrochloric acid: its safety data sheet and local codes apply"
            }
        }
    }
}
