//! Thrust of one drive by every model that its ground allows, side by side.

use super::{
    ARCHING, Ground, Jacked, LUBRICATED_T_M2, RESTART, SiloSet, TONNE_KPA, arching_friction,
    interface_friction, restart_thrust, silo_friction, skin_friction,
};
use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Range, Working, asked},
};
use std::f64::consts::PI;

const TOTAL: Cited = Cited::unsourced(
    "face and friction added; no model is the answer, so low and high are those of all models",
    Tag::Derived,
);

/// A drive whose thrust is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// The pipe, and how far it is pushed.
    pub pipe: Jacked,
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// Least cover to the crown (m).
    pub cover_m: f64,
    /// Face pressure (kPa).
    pub face_kpa: f64,
    /// Skin friction by the name of the soil (kPa).
    pub skin_kpa: Range,
    /// Figures of the ground, for the models that need them.
    pub ground: Option<Ground>,
    /// The pipe is lubricated.
    pub lubricated: bool,
    /// The drive may stand for hours in sticky ground.
    pub stops: bool,
}

/// Thrust by every model.
#[derive(Debug, Clone, PartialEq)]
pub struct ThrustEstimate {
    /// Low, expected and high (kN): face and friction. Expected is by skin friction, as the planner has it.
    pub total_kn: Range,
    /// Friction by model.
    pub workings: Vec<Working>,
    /// Face and friction together.
    pub total: Working,
    /// Models that do not hold for this ground, and why.
    pub left_out: Vec<OutOfRange>,
}

/// Puts the models side by side: skin friction at its three values, and where the ground's figures are known the silo with
/// two sets of parameters, arching at its three values, and the interface.
///
/// Models that do not hold for the ground are left out and named. Low goes down to what lubrication at its best leaves where
/// `lubricated`; high includes the restart after a stop where `stops`.
///
/// # Errors
/// Skin friction itself does not hold: friction, diameter or length outside its range.
pub fn estimate(drive: Drive) -> Result<ThrustEstimate, OutOfRange> {
    let skin = drive.skin_kpa;
    let mut workings = vec![];
    for f in [skin.low, skin.expected, skin.high] {
        workings.push(skin_friction(drive.pipe, f)?);
    }
    let skin_kn = Range {
        low: workings[0].value(),
        expected: workings[1].value(),
        high: workings[2].value(),
    };
    let (by_ground, left_out) = of_ground(&drive);
    let mut friction = skin_kn.with(by_ground.iter().map(Working::value));
    workings.extend(by_ground);
    if drive.lubricated {
        let least = skin_friction(drive.pipe, LUBRICATED_T_M2 * TONNE_KPA)?;
        friction = friction.with([least.value()]);
        workings.push(least);
    }
    if drive.stops {
        let after = restart_thrust(friction.high, RESTART.high)?;
        friction.high = after.value();
        workings.push(after);
    }
    let total = total(&drive, friction)?;
    let value = |symbol| total.term(symbol).expect("worked out").value;
    Ok(ThrustEstimate {
        total_kn: Range {
            low: value("T_low"),
            expected: value("T"),
            high: value("T_high"),
        },
        workings,
        total,
        left_out,
    })
}

/// Face resistance added to the least, expected and greatest friction of all models.
fn total(drive: &Drive, friction: Range) -> Result<Working, OutOfRange> {
    let face = asked("face pressure", drive.face_kpa, "kPa").not_negative(TOTAL)?;
    let bore = asked("bored diameter", drive.bore_mm / 1000.0, "m").positive(TOTAL)?;
    let mut w = Working::new("Thrust at the end of the drive", TOTAL);
    w.given("p", "face pressure", face, "kPa");
    w.given("B", "bored diameter", bore, "m");
    w.given("F_low", "least friction of the models", friction.low, "kN");
    w.given(
        "F_high",
        "greatest friction of the models",
        friction.high,
        "kN",
    );
    w.given("F", "friction expected", friction.expected, "kN");
    let head = face * PI * bore * bore / 4.0;
    w.line(("F_face", "resistance at the face"), "p·π·B²/4", head, "kN");
    let low = head + friction.low;
    w.line(("T_low", "least thrust"), "F_face + F_low", low, "kN");
    let high = head + friction.high;
    w.line(("T_high", "greatest thrust"), "F_face + F_high", high, "kN");
    let expected = head + friction.expected;
    w.line(("T", "thrust expected"), "F_face + F", expected, "kN");
    Ok(w)
}

/// Friction by the models that need figures of the ground.
fn of_ground(drive: &Drive) -> (Vec<Working>, Vec<OutOfRange>) {
    let (mut good, mut bad) = (vec![], vec![]);
    let Some(ground) = drive.ground else {
        return (good, bad);
    };
    let silos = SiloSet::ALL.map(|set| silo_friction(drive.pipe, ground, drive.cover_m, set));
    let arched = [ARCHING.low, ARCHING.expected, ARCHING.high]
        .map(|a| arching_friction(drive.pipe, drive.bore_mm, ground, a));
    let at_interface = interface_friction(drive.pipe, ground);
    for worked in silos.into_iter().chain(arched).chain([at_interface]) {
        match worked {
            Ok(w) => good.push(w),
            Err(e) => bad.push(e),
        }
    }
    (good, bad)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRIVE: Drive = Drive {
        pipe: Jacked {
            od_mm: 300.0,
            length_m: 30.0,
        },
        bore_mm: 320.0,
        cover_m: 2.0,
        face_kpa: 0.0,
        skin_kpa: Range {
            low: 4.90,
            expected: 8.0,
            high: 24.5,
        },
        ground: Some(Ground {
            unit_weight_kn_m3: 19.0,
            friction_deg: 32.0,
            cohesion_kpa: 0.0,
            pipe_mu: 0.40,
        }),
        lubricated: false,
        stops: false,
    };

    #[test]
    fn the_range_holds_every_model() {
        let all = estimate(DRIVE).unwrap();
        assert_eq!((all.workings.len(), all.left_out.len()), (9, 0));
        for w in &all.workings {
            assert!((all.total_kn.low..=all.total_kn.high).contains(&w.value()));
        }
        // The interface is the least, skin friction at its greatest the most.
        assert!((all.total_kn.low - 25.0).abs() < 0.05);
        assert_eq!(all.total_kn.high, all.workings[2].value());
    }

    #[test]
    fn without_figures_of_the_ground_skin_friction_stands_alone() {
        let plain = Drive {
            ground: None,
            ..DRIVE
        };
        let all = estimate(plain).unwrap();
        assert_eq!(all.workings.len(), 3);
        assert_eq!(all.total_kn.expected, all.workings[1].value());
    }

    #[test]
    fn a_model_that_does_not_hold_is_named() {
        let mut clay = DRIVE;
        clay.ground = clay.ground.map(|g| Ground {
            friction_deg: 20.0,
            ..g
        });
        let all = estimate(clay).unwrap();
        assert_eq!((all.workings.len(), all.left_out.len()), (8, 1));
        assert_eq!(all.left_out[0].quantity, "friction angle");
    }

    #[test]
    fn lubrication_may_leave_far_less() {
        let dry = Drive {
            ground: None,
            ..DRIVE
        };
        let oiled = Drive {
            lubricated: true,
            ..dry
        };
        let (dry, oiled) = (estimate(dry).unwrap(), estimate(oiled).unwrap());
        let least_kn = 0.980_665 * PI * 0.3 * 30.0;
        assert!((oiled.total_kn.low - least_kn).abs() < 1e-9);
        assert!(least_kn < dry.total_kn.low);
        assert_eq!(oiled.total_kn.expected, dry.total_kn.expected);
        assert_eq!(oiled.total_kn.high, dry.total_kn.high);
    }

    #[test]
    fn face_and_stops_add() {
        let plain = estimate(DRIVE).unwrap().total_kn;
        let faced = Drive {
            face_kpa: 100.0,
            ..DRIVE
        };
        let face_kn = 100.0 * PI / 4.0 * 0.32 * 0.32;
        let with_face = estimate(faced).unwrap();
        crate::mechanics::calculator::agrees(&with_face.total);
        let with_face = with_face.total_kn;
        assert!((with_face.low - plain.low - face_kn).abs() < 1e-9);
        let stopped = Drive {
            stops: true,
            ..DRIVE
        };
        let after = estimate(stopped).unwrap().total_kn;
        assert!((after.high - 1.4 * plain.high).abs() < 1e-9);
        assert_eq!(after.low, plain.low);
    }
}
