//! The words that result layers use for the closed lists of a plan.

use crate::check::ChangeKind;
use crate::plan::{
    Dig, Encounter, Feature, Method, Obstacle, PitRole, ReachBy, RemedyKind, Scope, TaskKind,
    Verdict, Why,
};

/// The word as layers, JSON and reports write it.
pub trait Word {
    /// The word.
    fn word(self) -> &'static str;
}

macro_rules! words {
    ($($name:ident { $($var:ident = $word:literal),+ $(,)? })+) => {
        $(impl Word for $name {
            fn word(self) -> &'static str {
                match self { $($name::$var => $word),+ }
            }
        })+
    };
}

words! {
    PitRole { Launch = "launch", Reception = "reception", Both = "both" }
    Dig { Machine = "machine", Hand = "hand" }
    ReachBy { Rig = "rig", Thrust = "thrust", Pipe = "pipe", Accuracy = "accuracy" }
    Obstacle {
        Service = "service",
        Building = "building",
        Tree = "tree",
        Lot = "lot",
        Keepout = "keepout",
        Ground = "ground",
    }
    Encounter { Crossing = "crossing", Parallel = "parallel" }
    Verdict { Clash = "clash", Prove = "prove", Watch = "watch", Clear = "clear" }
    Feature { Manhole = "manhole", Pit = "pit", Crossing = "crossing", Ground = "ground" }
    Method { Bore = "bore", Trench = "trench" }
    Scope { Bore = "bore", Run = "run", Route = "route", Lot = "lot" }
    TaskKind {
        Dig = "dig",
        Move = "move",
        Bore = "bore",
        Manhole = "manhole",
        Close = "close",
    }
    ChangeKind { New = "new", Worse = "worse", Better = "better", Gone = "gone" }
    Why { Gap = "gap", Levels = "levels" }
    RemedyKind {
        Reach = "reach",
        Prove = "prove",
        Outfall = "outfall",
        Head = "head",
        Entry = "entry",
        Corridor = "corridor",
    }
}
