//! Where to look first: patterns over several characteristics of a cabinet, as data.
//!
//! All of it is common practice without a source, apart from the two entries marked
//! physics: drops dry in air that is not saturated and grow in air that is warmer and
//! wetter than the cabinet. Hints, never verdicts.

use super::caution::Caution;
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
    /// Where to look first, short, for the sentence.
    pub(super) look: &'static str,
    /// All places, the most likely first, for the list.
    pub(super) places: &'static [&'static str],
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
const AIM: &str = "the nozzle's aim and the baffle";
const FUNNELS: &[&str] = &[
    "Nozzle's aim and the baffle's position",
    "Specimens that shade a funnel",
    "Exhaust draught",
    "A funnel tilted, moved, leaking or partly covered",
];

/// The hints, the more telling first: a later one whose series an earlier one already
/// covers is not given.
pub(super) static HINTS: &[Hint] = &[
    // Physics: air leaves a colder tower with less water, and drops dry in it.
    Hint {
        id: "tower-cold",
        when: &[
            When::Falls(TowerTemperature),
            When::Any(&[SALT_RISES, CATCH_FALLS]),
        ],
        because: "A colder tower leaves the air unsaturated and dries the fog, so the catch gets stronger and smaller",
        look: "the tower",
        places: &[
            "Tower: thermostat and set point",
            "Tower: heater and water level",
            "That its temperature fits the air pressure: they are judged as a pair",
            "Salt crust on the nozzle that follows from dry air",
        ],
        caution: Some(Caution::Tower),
    },
    // Physics: air hotter and wetter than the cabinet gives water to the drops.
    Hint {
        id: "tower-heats",
        when: &[
            When::Rises(TowerTemperature),
            When::Any(&[SALT_FALLS, CATCH_RISES]),
        ],
        because: "A hotter tower sends more water with the air than the fog can lose, so the catch gets weaker and larger",
        look: "the tower",
        places: &[
            "Tower: thermostat and set point",
            "That its temperature fits the air pressure: they are judged as a pair",
            "Condensate or drips from the lid in a funnel",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "tower-dry",
        when: &[SALT_RISES, CATCH_FALLS],
        because: "The caught solution gets stronger while the catch falls, as when the air is not saturated and dries the fog",
        look: "the tower's temperature and water level",
        places: &[
            "Tower: temperature, heater, level switch and water",
            "Salt crust on the nozzle that follows from dry air",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "tower-hot",
        when: &[SALT_FALLS, CATCH_RISES],
        because: "The caught solution gets weaker while the catch rises",
        look: "the tower's temperature",
        places: &[
            "Tower too hot for its pressure",
            "Condensate or drips from the lid in a funnel",
            "Tower water carried over",
            "A weak mix",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "air-falls",
        when: &[CATCH_FALLS, When::Falls(AirPressure)],
        because: "The catch falls with the air pressure",
        look: "the air regulator and the compressor",
        places: &[
            "Regulator and its setting",
            "Compressor",
            "Air filter",
            "Water in the air line",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "air-rises",
        when: &[CATCH_RISES, When::Rises(AirPressure)],
        because: "The catch rises with the air pressure",
        look: "the setting of the air regulator",
        places: &[
            "Regulator and its setting",
            "The pressure gauge itself",
            "Tower temperature to go with the pressure",
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
        look: "the nozzle and its suction line",
        places: &[
            "Nozzle: wear or salt crust",
            "Suction line and the filter in the feed",
            "Reservoir level",
            "Solution used per day: it falls with the catch when the nozzle clogs",
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
        places: &[
            "Nozzle: wear or salt crust",
            "Regulator and compressor",
            "Suction line, filter and reservoir level",
            "Air pressure written down at each check",
        ],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "both-rise",
        when: &[When::Rises(CollectionNear), When::Rises(CollectionFar)],
        because: "Both funnels rise{faster}",
        look: "the air pressure and the nozzle's orifice",
        places: &[
            "Air pressure and its gauge",
            "Nozzle's orifice worn open",
            "Drops getting coarser: the near funnel then gains more",
        ],
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
        places: FUNNELS,
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
        places: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "far-alone",
        when: &[When::Moves(CollectionFar), When::Still(CollectionNear)],
        because: "Only the far funnel moves",
        look: AIM,
        places: FUNNELS,
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "spread-moves",
        when: &[When::Moves(CollectionSpread)],
        because: "The balance between near and far funnel moved",
        look: AIM,
        places: FUNNELS,
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
        places: &[
            "Reservoir level: whether the catch recovers at each fill",
            "Filter in the feed",
            "Air pressure over the day",
        ],
        caution: None,
    },
    Hint {
        id: "catch-falls",
        when: &[CATCH_FALLS],
        because: "The catch falls",
        look: "the nozzle and the air pressure",
        places: &[
            "Nozzle: wear or salt crust",
            "Suction line and the filter in the feed",
            "Reservoir level",
            "Air pressure",
        ],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "catch-rises",
        when: &[CATCH_RISES],
        because: "The catch rises",
        look: "the air pressure and the nozzle's orifice",
        places: &[
            "Air pressure and its gauge",
            "Nozzle's orifice worn open",
            "Tower temperature",
            "Drips from the lid into a funnel",
        ],
        caution: Some(Caution::Cabinet),
    },
    Hint {
        id: "meters",
        when: &[When::Steps(Ph), SALT_STEPS],
        because: "pH and density changed together",
        look: "the salt lot or the batch, and both meters",
        places: &[
            "Salt lot or batch",
            "A check solution in each meter",
            "Whether other cabinets changed too",
        ],
        caution: None,
    },
    Hint {
        id: "batch-step",
        when: &[SALT_STEPS],
        because: "The density stepped",
        look: "how the batch was mixed",
        places: &[
            "Scale and volume of the mix",
            "The reservoir's own density",
            "A change of hydrometer or of its reference temperature",
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
        look: "the tower's temperature and water level",
        places: &[
            "Tower: temperature and water level",
            "Evaporation from the reservoir",
            "The reservoir's own density",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "solution-weakens",
        when: &[SALT_FALLS],
        because: "The caught solution gets weaker",
        look: "the mix and the tower's temperature",
        places: &[
            "Scale and volume of the mix",
            "Tower too hot for its pressure",
            "Condensate or drips from the lid in a funnel",
            "Tower water carried over",
        ],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "ph-saw-tooth",
        when: &[When::Saws(Ph)],
        because: "The pH climbs and falls back in turn, as between fills",
        look: "what happens at each fill",
        places: &[
            "Carbon dioxide leaving the warmed solution between fills",
            "The make-up water: its quality, and whether it is boiled or warmed before the pH is adjusted",
            "Whether the days of the falls are those of the fills",
        ],
        caution: None,
    },
    Hint {
        id: "ph-with-lot",
        when: &[When::Moves(Ph), When::Event(EventKind::SaltOrBatch)],
        because: "The pH changed with a salt lot or batch",
        look: "impurities of that salt lot",
        places: &[
            "Impurities of the salt lot",
            "A batch from the old lot side by side",
            "Coupons: some impurities slow corrosion",
        ],
        caution: None,
    },
    Hint {
        id: "ph-with-meter",
        when: &[When::Moves(Ph), When::Event(EventKind::Meter)],
        because: "The pH changed with work on a meter",
        look: "the electrode and the buffers",
        places: &[
            "Electrode and buffers",
            "Whether other cabinets read with the same meter changed too",
        ],
        caution: None,
    },
    Hint {
        id: "ph-step",
        when: &[When::Steps(Ph)],
        because: "The pH stepped",
        look: "the salt lot, the electrode and the buffers",
        places: &[
            "Salt lot",
            "Electrode and buffers",
            "What the cabinet held before (carry-over of acid)",
            "Cartridge of the make-up water",
        ],
        caution: None,
    },
    Hint {
        id: "ph-moves",
        when: &[When::Moves(Ph)],
        because: "The pH moved",
        look: "the make-up water and the electrode",
        places: &[
            "Make-up water: conductivity, cartridge",
            "Electrode and buffers",
            "The temperature at which pH is read",
        ],
        caution: None,
    },
    Hint {
        id: "cabinet-sags",
        when: &[When::Falls(CabinetTemperature)],
        because: "The cabinet's temperature sags",
        look: "the room's temperature and the heater",
        places: &[
            "Room temperature on those days",
            "Heater and lid seal",
            "Water in the jacket",
            "The thermometer's calibration",
        ],
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
        places: &[
            "Controller and its setting",
            "Room temperature",
            "Lid seal",
            "The thermometer's calibration",
        ],
        caution: Some(Caution::Electric),
    },
    Hint {
        id: "tower-saw-tooth",
        when: &[When::Saws(TowerTemperature)],
        because: "The tower's temperature goes up and down in turn",
        look: "the tower's level switch and float valve",
        places: &["Level switch and float valve", "Scale on the heater"],
        caution: Some(Caution::Tower),
    },
    Hint {
        id: "tower-moves",
        when: &[When::Moves(TowerTemperature)],
        because: "The tower's temperature moved",
        look: "the tower's set point and water level",
        places: &[
            "Set point and thermostat",
            "Heater and water level",
            "That the temperature fits the air pressure: they are judged as a pair",
        ],
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
        places: &[
            "Regulator and its setting",
            "Compressor and air filter",
            "Water in the line",
            "The gauge itself",
        ],
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
        places: &[
            "Coupon lot and its cleaning",
            "Where the coupons stood, and the fallout there",
            "Chemistry of the solution that is not measured",
        ],
        caution: Some(Caution::Acid),
    },
];
