//! Where to look first: patterns over several characteristics of a cabinet, as data.
//!
//! All of it is common practice without a source, apart from the two entries marked
//! physics: drops dry in air that is not saturated and grow in air that is warmer and
//! wetter than the cabinet. Hints, never verdicts.

use super::events::EventKind;
use crate::characteristic::Characteristic::{
    self, AirPressure, CabinetTemperature, CollectionFar, CollectionNear, CollectionRate,
    CollectionSpread, CouponMassLoss, Ph, SaltConcentration, SpecificGravity, TowerTemperature,
};

/// What must hold of a cabinet's series for a hint.
#[derive(Debug)]
pub(super) enum When {
    /// Its level went down, in whatever manner.
    Falls(Characteristic),
    /// Its level went up.
    Rises(Characteristic),
    /// Its level moved, either way.
    Moves(Characteristic),
    /// Its level stepped, or left its centre line at a fill, a batch or work on a meter.
    Steps(Characteristic),
    /// It went up and down in turn.
    Saws(Characteristic),
    /// It was judged and did nothing.
    Still(Characteristic),
    /// It was not judged: not recorded, or too few readings.
    NotJudged(Characteristic),
    /// At least one of these holds.
    Any(&'static [When]),
    /// An event of that kind is near the change.
    Event(EventKind),
    /// Everything that was judged, other than this, did nothing.
    AllElseStill(Characteristic),
}

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
    /// The caution in a sentence.
    pub(super) fn says(self) -> &'static str {
        match self {
            Caution::Tower => {
                "Caution: the tower is hot and under pressure; shut off and vent the air and let it cool before opening, \
                 by the maker's instructions and local codes."
            }
            Caution::Cabinet => {
                "Caution: purge the fog before opening and let hot surfaces cool; where the solution holds acetic acid or \
                 copper salts, follow its safety data sheet."
            }
            Caution::Electric => {
                "Caution: electricity beside brine; isolate the supply, and leave electrical work to licensed practice."
            }
            Caution::Acid => {
                "Caution: coupon cleaning uses inhibited hydrochloric acid; follow its safety data sheet and local codes."
            }
        }
    }
}

/// A pattern and where to look first.
#[derive(Debug)]
pub(super) struct Hint {
    /// Name of the pattern.
    #[cfg_attr(
        not(test),
        expect(
            dead_code,
            reason = "names a pattern to readers of the table and to tests"
        )
    )]
    pub(super) id: &'static str,
    /// All of these hold.
    pub(super) when: &'static [When],
    /// What is seen; `{faster}` becomes which funnel moves faster.
    pub(super) because: &'static str,
    /// Where to look, in the sentence.
    pub(super) look: &'static str,
    /// Further places, for the list.
    pub(super) also: &'static [&'static str],
    /// Caution that goes with it.
    pub(super) caution: Option<Caution>,
}

const CATCH_FALLS: When = When::Any(&[
    When::Falls(CollectionRate),
    When::Falls(CollectionNear),
    When::Falls(CollectionFar),
]);
const CATCH_RISES: When = When::Any(&[
    When::Rises(CollectionRate),
    When::Rises(CollectionNear),
    When::Rises(CollectionFar),
]);
const SALT_RISES: When = When::Any(&[When::Rises(SaltConcentration), When::Rises(SpecificGravity)]);
const SALT_FALLS: When = When::Any(&[When::Falls(SaltConcentration), When::Falls(SpecificGravity)]);
const SALT_STEPS: When = When::Any(&[When::Steps(SaltConcentration), When::Steps(SpecificGravity)]);

/// Where to look when the fog goes elsewhere in the cabinet.
const AIM: &str = "the aim of the nozzle and the position of the baffle";
const FUNNELS: &[&str] = &[
    "specimens that shade a funnel",
    "exhaust draught",
    "a funnel tilted, moved, leaking or partly covered",
];

/// The hints, the more telling first: a later one whose series an earlier one already
/// covers is not given.
pub(super) static HINTS: &[Hint] = &[
    Hint {
        id: "tower-dry",
        when: &[SALT_RISES, CATCH_FALLS],
        because: "The caught solution gets stronger while the catch falls, as when the air is not saturated and dries the fog",
        look: "the tower's temperature and water level",
        also: &[
            "tower heater and level switch",
            "salt crust on the nozzle that follows from it",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "tower-hot",
        when: &[SALT_FALLS, CATCH_RISES],
        because: "The caught solution gets weaker while the catch rises",
        look: "a tower too hot for its pressure",
        also: &[
            "condensate or drips from the lid in a funnel",
            "tower water carried over",
            "a weak mix",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "air-falls",
        when: &[CATCH_FALLS, When::Falls(AirPressure)],
        because: "The catch falls with the air pressure",
        look: "the air regulator and the compressor",
        also: &["air filter", "water in the air line"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "air-rises",
        when: &[CATCH_RISES, When::Rises(AirPressure)],
        because: "The catch rises with the air pressure",
        look: "the setting of the air regulator",
        also: &[
            "the pressure gauge itself",
            "tower temperature to go with the pressure",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "nozzle",
        when: &[
            When::Falls(CollectionNear),
            When::Falls(CollectionFar),
            When::Still(AirPressure),
        ],
        because: "Both funnels fall{faster} while the air pressure is steady",
        look: "the nozzle (wear, salt crust) and its suction line",
        also: &[
            "filter in the feed",
            "reservoir level",
            "solution used per day: it falls with the catch when the nozzle clogs",
        ],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "nozzle-or-air",
        when: &[
            When::Falls(CollectionNear),
            When::Falls(CollectionFar),
            When::NotJudged(AirPressure),
        ],
        because: "Both funnels fall{faster}, and the air pressure could not be judged",
        look: "the nozzle and the air pressure",
        also: &[
            "suction line, filter and reservoir level",
            "write the air pressure down at each check",
        ],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "both-rise",
        when: &[When::Rises(CollectionNear), When::Rises(CollectionFar)],
        because: "Both funnels rise{faster}",
        look: "the air pressure and the nozzle's orifice (worn open)",
        also: &["drops getting coarser: the near funnel then gains more"],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "near-falls-alone",
        when: &[
            When::Falls(CollectionNear),
            When::Any(&[When::Rises(CollectionFar), When::Still(CollectionFar)]),
        ],
        because: "The near funnel falls against the far one",
        look: AIM,
        also: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "near-rises-alone",
        when: &[
            When::Rises(CollectionNear),
            When::Any(&[When::Falls(CollectionFar), When::Still(CollectionFar)]),
        ],
        because: "The near funnel rises against the far one",
        look: AIM,
        also: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "far-alone",
        when: &[When::Moves(CollectionFar), When::Still(CollectionNear)],
        because: "Only the far funnel moves",
        look: AIM,
        also: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "spread-moves",
        when: &[When::Moves(CollectionSpread)],
        because: "The balance between near and far funnel moved",
        look: AIM,
        also: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "reservoir-saw-tooth",
        when: &[When::Any(&[
            When::Saws(CollectionRate),
            When::Saws(CollectionNear),
            When::Saws(CollectionFar),
        ])],
        because: "The catch goes up and down in turn",
        look: "the reservoir level and the filter in the feed",
        also: &[
            "whether it recovers at each fill",
            "air pressure over the day",
        ],
        caution: None,
    },
    Hint {
        id: "catch-falls",
        when: &[CATCH_FALLS],
        because: "The catch falls",
        look: "the nozzle, its suction line and the air pressure",
        also: &["filter in the feed", "reservoir level"],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "catch-rises",
        when: &[CATCH_RISES],
        because: "The catch rises",
        look: "the air pressure and the nozzle's orifice",
        also: &["tower temperature", "drips from the lid into a funnel"],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "meters",
        when: &[When::Steps(Ph), SALT_STEPS],
        because: "pH and density changed together",
        look: "the salt lot or the batch, and both meters",
        also: &[
            "a check solution in each meter",
            "whether other cabinets changed too",
        ],
        caution: None,
    },
    Hint {
        id: "batch-step",
        when: &[SALT_STEPS],
        because: "The density stepped",
        look: "how the batch was mixed (scale, volume)",
        also: &[
            "the reservoir's own density",
            "a change of hydrometer or of its reference temperature",
        ],
        caution: None,
    },
    Hint {
        id: "reservoir-evaporates",
        when: &[When::Any(&[
            When::Rises(SaltConcentration),
            When::Rises(SpecificGravity),
        ])],
        because: "The caught solution gets stronger",
        look: "the tower's temperature and water level, and evaporation from the reservoir",
        also: &["the reservoir's own density"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "solution-weakens",
        when: &[SALT_FALLS],
        because: "The caught solution gets weaker",
        look: "the mix and a tower too hot",
        also: &[
            "condensate or drips from the lid in a funnel",
            "tower water carried over",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "ph-saw-tooth",
        when: &[When::Saws(Ph)],
        because: "The pH climbs and falls back in turn, as between fills",
        look: "carbon dioxide leaving the warmed solution and the make-up water",
        also: &[
            "whether it falls back at each fill",
            "whether the water is boiled or warmed before it is adjusted",
        ],
        caution: None,
    },
    Hint {
        id: "ph-with-lot",
        when: &[When::Moves(Ph), When::Event(EventKind::SaltOrBatch)],
        because: "The pH changed with a salt lot or batch",
        look: "impurities of that salt lot",
        also: &[
            "a batch from the old lot side by side",
            "coupons: some impurities slow corrosion",
        ],
        caution: None,
    },
    Hint {
        id: "ph-with-meter",
        when: &[When::Moves(Ph), When::Event(EventKind::Meter)],
        because: "The pH changed with work on a meter",
        look: "the electrode and the buffers",
        also: &["whether other cabinets read with the same meter changed too"],
        caution: None,
    },
    Hint {
        id: "ph-step",
        when: &[When::Steps(Ph)],
        because: "The pH stepped",
        look: "the salt lot, the electrode and the buffers",
        also: &[
            "what the cabinet held before (carry-over of acid)",
            "cartridge of the make-up water",
        ],
        caution: None,
    },
    Hint {
        id: "ph-moves",
        when: &[When::Moves(Ph)],
        because: "The pH moved",
        look: "the make-up water and the electrode",
        also: &[
            "conductivity of the water, its cartridge",
            "the temperature at which pH is read",
        ],
        caution: None,
    },
    Hint {
        id: "cabinet-sags",
        when: &[When::Falls(CabinetTemperature)],
        because: "The cabinet's temperature sags",
        look: "the room's temperature, the lid seal and the heater",
        also: &["water in the jacket", "the thermometer's calibration"],
        caution: Some(Caution::Electric),
    },
    Hint {
        id: "cabinet-moves",
        when: &[When::Any(&[
            When::Rises(CabinetTemperature),
            When::Saws(CabinetTemperature),
        ])],
        because: "The cabinet's temperature moved",
        look: "its controller and the room's temperature",
        also: &["lid seal", "the thermometer's calibration"],
        caution: Some(Caution::Electric),
    },
    Hint {
        id: "tower-saw-tooth",
        when: &[When::Saws(TowerTemperature)],
        because: "The tower's temperature goes up and down in turn",
        look: "the level switch and the float valve",
        also: &["scale on the heater"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "tower-moves",
        when: &[When::Moves(TowerTemperature)],
        because: "The tower's temperature moved",
        look: "its set point, heater and water level",
        also: &["that the temperature fits the air pressure: they are judged as a pair"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "air-moves",
        when: &[When::Any(&[
            When::Moves(AirPressure),
            When::Saws(AirPressure),
        ])],
        because: "The air pressure moved",
        look: "the regulator and the supply",
        also: &["compressor, air filter, water in the line", "the gauge"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "coupon-alone",
        when: &[
            When::Moves(CouponMassLoss),
            When::AllElseStill(CouponMassLoss),
        ],
        because: "The coupons changed while every daily check agrees",
        look: "the coupon lot and its cleaning",
        also: &[
            "where the coupons stood",
            "fallout there",
            "chemistry of the solution that is not measured",
        ],
        caution: Some(Caution::Acid),
    },
];
