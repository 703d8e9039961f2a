//! The words among which a key lets one choose, each with its meaning: what the reader takes, the
//! schema lists and the documentation says.

/// Declares the choices of a key: each with its word in a file and what that means.
macro_rules! choices {
    ($(#[$about:meta])* $name:ident {
        $($(#[$choice_about:meta])* $choice:ident = $word:literal, $meaning:literal;)*
    }) => {
        $(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
        pub enum $name {
            $($(#[$choice_about])* $choice,)*
        }

        impl $name {
            /// The words with their meanings, in order.
            pub(crate) const CHOICES: &[(&str, &str)] = &[$(($word, $meaning)),*];

            /// Its word in a file.
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$choice => $word,)*
                }
            }

            /// The choice of that word.
            pub fn from_word(word: &str) -> Option<Self> {
                match word {
                    $($word => Some(Self::$choice),)*
                    _ => None,
                }
            }
        }
    };
}
pub(super) use choices;

choices! {
    /// A direction of rotation, seen facing the timing end.
    Rotation {
        /// As a clock's hands turn.
        Clockwise = "clockwise", "as seen facing the timing end";
        /// Against a clock's hands.
        CounterClockwise = "counter-clockwise", "as seen facing the timing end";
    }
}

impl Rotation {
    /// The other way.
    #[must_use]
    pub fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }
}

choices! {
    /// From where somebody sees the timing end.
    Viewpoint {
        /// Standing before it.
        Facing = "facing", "facing the timing end, looking straight at it";
        /// In a mirror that is held before it.
        Mirror = "mirror", "in a mirror";
        /// On a photo, which a camera may have mirrored.
        Photo = "photo", "on a photo";
        /// Looking down on it, the engine in the car.
        Above = "above", "from above, the engine in the car";
    }
}

choices! {
    /// What a shaft is.
    ShaftKind {
        /// Drives everything.
        Crankshaft = "crankshaft", "the one that drives; every drive has exactly one";
        /// Opens valves, at half crank speed.
        Camshaft = "camshaft", "must come to exactly half crank speed";
        /// Carries sprockets only.
        Idler = "idler", "carries one or more sprockets, opens no valves";
        /// Balances.
        Balance = "balance", "a balance shaft; it must be in time too";
        /// Pumps.
        Pump = "pump", "an oil, water or injection pump; in time only if it has a dot or a link";
    }
}

choices! {
    /// What runs over the sprockets. The standards are named from memory.
    ChainKind {
        /// Rollers on bushes (ISO 606).
        Roller = "roller", "a roller chain, single or double row";
        /// Bushes without rollers (ISO 606, ISO 1395).
        Bush = "bush", "a bush chain: bushes without rollers";
        /// Toothed plates that reach into the sprocket (ASME B29.2).
        Silent = "silent", "a silent chain, with inverted teeth";
        /// A toothed belt (ISO 9010, ISO 9011).
        Belt = "belt", "a toothed belt: `links` are its teeth, and it has no pins, plates or kinds of links";
        /// Two gears that mesh (ISO 54, ISO 21771).
        Gears = "gears", "a pair of gears: `links` are the teeth of the driven one, which is `outside` where both have their teeth outside";
    }
}

choices! {
    /// Where a phaser's lock holds it.
    Parked {
        /// At the advanced end.
        Advanced = "advanced", "locked at the end that opens the valves earliest";
        /// At the retarded end.
        Retarded = "retarded", "locked at the end that opens the valves latest";
        /// Between its ends.
        Middle = "middle", "locked between its ends";
    }
}

choices! {
    /// What valves are for.
    ValveKind {
        /// Lets in.
        Intake = "intake", "opens near TDC and closes near BDC";
        /// Lets out.
        Exhaust = "exhaust", "opens near BDC and closes near TDC";
    }
}
