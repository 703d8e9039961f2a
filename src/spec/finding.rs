//! What was found in a spec: typed data with places. Words are made of it in `render` alone.

use crate::spec::source::Span;
use crate::units::cycle::{DeadCentre, TradeAngle, TradeAngleError};
use crate::units::quantity::{ClockAngle, CrankDegrees, Exact, LinkPosition, NumberError};
use crate::units::torque::TorqueError;

/// How much a finding matters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Worth knowing; the spec is clean all the same.
    Note,
    /// Probably a mistake, or something the drive cannot show; the spec can be used.
    Warning,
    /// The spec cannot be used.
    Error,
}

/// One thing found in a spec.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// What it is.
    pub problem: Problem,
    /// The offence. `None` where the whole file is meant.
    pub span: Option<Span>,
    /// A second place that belongs to it, such as the line that set the rule.
    pub related: Option<Span>,
}

impl Finding {
    pub(crate) fn new(problem: Problem, span: Span) -> Self {
        Self {
            problem,
            span: Some(span),
            related: None,
        }
    }

    pub(crate) fn of_file(problem: Problem) -> Self {
        Self {
            problem,
            span: None,
            related: None,
        }
    }

    pub(crate) fn with(mut self, related: Span) -> Self {
        self.related = Some(related);
        self
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        self.problem.severity()
    }

    /// Its stable name, in lower case with hyphens.
    pub fn code(&self) -> &'static str {
        self.problem.code()
    }
}

/// Sorts findings by their places, and makes one that counts the rest of all beyond `most`.
pub(crate) fn in_order(findings: &mut Vec<Finding>, most: usize) {
    findings.sort_by_key(|finding| finding.span.map_or(0, |span| span.start));
    if findings.len() > most {
        let more = findings.len() - most;
        let first = findings[most].span;
        findings.truncate(most);
        findings.push(Finding {
            span: first,
            ..Finding::of_file(Problem::MoreFindings { more })
        });
    }
}

/// A wrong way to hang a chain that its marks do not tell from the right one.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum AlsoRight {
    /// Each dot on another one's link of the same colour.
    LinksMoved {
        /// Shaft, and the shaft whose link lies on its dot.
        links: Vec<(String, String)>,
    },
    /// Inside out.
    InsideOut {
        /// Shaft, and the shaft whose link lies on its dot.
        links: Vec<(String, String)>,
    },
    /// The chain that is marked for another place.
    MarkedAs {
        /// That place's chain.
        chain: String,
    },
}

/// Declares the kinds of findings, each with its code and severity.
macro_rules! problems {
    ($($(#[$about:meta])* $name:ident $({ $($(#[$field_about:meta])* $field:ident: $type:ty),* $(,)? })? = $code:literal, $severity:ident;)*) => {
        /// A kind of finding and what it is about.
        #[derive(Clone, PartialEq, Debug)]
        #[non_exhaustive]
        pub enum Problem {
            $($(#[$about])* $name $({ $($(#[$field_about])* $field: $type),* })?,)*
        }

        impl Problem {
            /// The stable name of every kind, in the order in which a file is checked.
            pub const CODES: &'static [&'static str] = &[$($code),*];

            /// The stable name of this kind.
            pub fn code(&self) -> &'static str {
                match self {
                    $(Self::$name { .. } => $code,)*
                }
            }

            /// How much this kind matters.
            pub fn severity(&self) -> Severity {
                match self {
                    $(Self::$name { .. } => Severity::$severity,)*
                }
            }
        }
    };
}

problems! {
    /// The text is not YAML.
    NotYaml {
        /// What the YAML parser says.
        reason: String,
    } = "not-yaml", Error;
    /// There is nothing in the file.
    Empty = "empty", Error;
    /// A second document begins.
    SecondDocument = "second-document", Error;
    /// Values nested too deeply.
    TooDeep {
        /// The deepest nesting that is read.
        max: usize,
    } = "too-deep", Error;
    /// More values than are read, aliases counted each time.
    TooMany {
        /// The most values that are read.
        max: usize,
    } = "too-many-values", Error;
    /// More text than aliases may repeat.
    TooMuchRepeated {
        /// The most bytes that are repeated.
        max: usize,
    } = "too-much-repeated", Error;
    /// An alias within the value that it stands for.
    AliasLoop = "alias-loop", Error;
    /// A key that is itself a list or a mapping.
    KeyNotText = "key-not-text", Error;
    /// A key that the format does not know.
    UnknownKey {
        /// As written.
        key: String,
        /// The nearest key that is known here.
        nearest: Option<&'static str>,
        /// All keys that are known here.
        known: Vec<&'static str>,
    } = "unknown-key", Error;
    /// A key given twice.
    DuplicateKey {
        /// As written.
        key: String,
    } = "duplicate-key", Error;
    /// A key that must be there is not.
    MissingKey {
        /// The key.
        key: &'static str,
        /// The record that lacks it.
        record: &'static str,
        /// What it means.
        about: &'static str,
    } = "missing-key", Error;
    /// A value of another kind than expected.
    WrongType {
        /// What is expected.
        expected: &'static str,
        /// What stands there.
        found: String,
    } = "wrong-type", Error;
    /// A text that should be a number and is not.
    NotANumber {
        /// As written.
        text: String,
        /// Why not.
        reason: NumberError,
        /// Must it be a whole number?
        whole: bool,
    } = "not-a-number", Error;
    /// A number outside its bounds.
    OutOfBounds {
        /// As written.
        text: String,
        /// The least.
        min: i64,
        /// The most.
        max: i64,
        /// Of what.
        unit: &'static str,
        /// Is the least itself excluded?
        above: bool,
    } = "out-of-range", Error;
    /// A word that is none of the choices.
    NotAChoice {
        /// As written.
        text: String,
        /// The choices.
        choices: Vec<&'static str>,
        /// The nearest of them.
        nearest: Option<&'static str>,
    } = "not-a-choice", Error;
    /// A name with characters that would not survive a command line, or too long.
    BadName {
        /// As written.
        name: String,
    } = "bad-name", Error;
    /// A text with control characters, or too long.
    UnprintableText {
        /// As written.
        text: String,
    } = "unprintable-text", Error;
    /// More of something than the model takes.
    TooManyOf {
        /// What.
        what: &'static str,
        /// How many stand there.
        found: usize,
        /// The most.
        max: usize,
    } = "too-many", Error;
    /// An entry of a path that names no part.
    UnknownEntry {
        /// The words of which one must be there.
        known: Vec<&'static str>,
    } = "unknown-entry", Error;
    /// A name that refers to nothing.
    UnknownShaft {
        /// As written.
        name: String,
        /// The nearest shaft.
        nearest: Option<String>,
    } = "unknown-shaft", Error;
    /// No shaft is the crankshaft.
    NoCrankshaft = "no-crankshaft", Error;
    /// Two shafts are the crankshaft.
    SecondCrankshaft {
        /// The second.
        name: String,
    } = "second-crankshaft", Error;
    /// A phaser on something else than a camshaft.
    PhaserNotOnCamshaft {
        /// The shaft.
        shaft: String,
    } = "phaser-not-on-camshaft", Error;
    /// A chain over fewer than two sprockets.
    TooFewSprockets {
        /// The chain.
        chain: String,
        /// How many it has.
        found: usize,
    } = "too-few-sprockets", Error;
    /// One shaft twice on one chain: two dots on what can only be one sprocket.
    ShaftTwiceOnChain {
        /// The shaft.
        shaft: String,
        /// The chain.
        chain: String,
    } = "two-dots-on-one-sprocket", Error;
    /// Fewer links than the sprockets alone take up.
    ChainTooShort {
        /// The chain.
        chain: String,
        /// The fewest links that two of its sprockets take up.
        least: u32,
    } = "chain-too-short", Error;
    /// Both `link` and `links` on one sprocket.
    LinkAndLinks = "link-and-links", Error;
    /// A link that the chain does not have.
    LinkPastEnd {
        /// As written.
        link: i64,
        /// The links of the chain.
        links: u16,
    } = "link-past-end", Error;
    /// `links: [a, b]` that are not next to each other in the direction of travel.
    LinksNotNeighbours {
        /// The first.
        first: i64,
        /// The second.
        second: i64,
        /// The links of the chain.
        links: u16,
    } = "links-not-neighbours", Error;
    /// A colour without a link to bear it.
    ColourWithoutLink = "colour-without-link", Warning;
    /// Two dots on one link.
    LinkShared {
        /// The link.
        link: LinkPosition,
        /// The sprocket that has it already.
        shaft: String,
    } = "link-shared", Error;
    /// Link numbers that do not rise along the path.
    LinksOutOfOrder {
        /// The chain.
        chain: String,
        /// Would they rise if the numbering ran the other way?
        reversed: bool,
    } = "links-out-of-order", Error;
    /// A shaft that no chain joins to the crankshaft.
    ShaftNotDriven {
        /// The shaft.
        shaft: String,
    } = "shaft-not-driven", Error;
    /// Two ways from the crankshaft to one shaft that give it two speeds.
    RatioOpen {
        /// The shaft.
        shaft: String,
        /// One chain that drives it, and the speed so.
        first: (String, Exact),
        /// The other.
        second: (String, Exact),
    } = "ratio-does-not-close", Error;
    /// A camshaft that does not turn at half crank speed.
    CamshaftSpeed {
        /// The shaft.
        shaft: String,
        /// Its turns per crank turn.
        ratio: Exact,
        /// The tooth count on its sprocket that would make it right, if there is one.
        teeth: Option<u16>,
    } = "camshaft-not-half-speed", Error;
    /// Tooth counts whose exact fractions would not fit.
    TooIntricate = "too-intricate", Error;
    /// A timed shaft with neither a link nor a dot.
    NothingToSee {
        /// The shaft.
        shaft: String,
    } = "nothing-to-see", Error;
    /// A shaft whose timing the links cannot prove, because a sprocket on the way has no link mark.
    LinksCannotProve {
        /// The shaft.
        shaft: String,
        /// The chain on which a mark is missing.
        chain: String,
        /// The sprocket that lacks it.
        at: String,
    } = "links-cannot-prove", Note;
    /// A chain that can be hung wrong with every dot on a link of the right colour, and no dot angle to
    /// show it.
    MarksAmbiguous {
        /// The chain.
        chain: String,
        /// How it can be hung wrong.
        also: AlsoRight,
        /// The shafts that would be off, none of which has a dot angle.
        off: Vec<String>,
        /// How many more such ways there are.
        more: usize,
    } = "marks-ambiguous", Warning;
    /// A limit of elongation that no chain could reach and still run.
    ElongationLimit {
        /// As written.
        limit: Exact,
    } = "elongation-limit", Warning;
    /// A tensioner on the strand that the driving sprocket pulls.
    TensionerOnTightStrand {
        /// The chain.
        chain: String,
        /// Where all slack is: after the driving sprocket, before this one.
        slack_before: String,
    } = "tensioner-on-tight-strand", Warning;
    /// A dot angle outside of one turn.
    DotAngle {
        /// As written.
        angle: ClockAngle,
    } = "dot-angle", Warning;

    /// A step that takes what is not there.
    UnknownNeed {
        /// `part` or `fastener`.
        what: &'static str,
        /// As written.
        name: String,
        /// The nearest that is there.
        nearest: Option<String>,
    } = "unknown-need", Error;
    /// A part or fastener that two steps take.
    NeededTwice {
        /// `part` or `fastener`.
        what: &'static str,
        /// As written.
        name: String,
    } = "needed-twice", Error;
    /// A part or fastener that no step takes.
    InNoStep {
        /// `part` or `fastener`.
        what: &'static str,
        /// As written.
        name: String,
    } = "in-no-step", Warning;
    /// Two steps of one name.
    StepTwice {
        /// As written.
        name: String,
    } = "step-twice", Error;
    /// A mark check or a gate that two steps are.
    StepRepeats {
        /// Key and word.
        what: String,
    } = "step-repeats", Error;
    /// A mark check or a gate that no step is.
    StepMissing {
        /// Key and word.
        what: String,
    } = "step-missing", Error;
    /// Mark checks and gates in an order that proves nothing.
    StepOrder {
        /// What must come first.
        first: String,
        /// What must come after it.
        second: String,
    } = "step-order", Error;
    /// A step after the sign-off.
    AfterSignOff = "after-sign-off", Error;
    /// A text that is no stage of tightening.
    TorqueUnreadable {
        /// As written.
        text: String,
        /// Why not.
        reason: TorqueError,
    } = "torque-unreadable", Error;
    /// Tightening that begins with an angle.
    AngleFirst = "angle-first", Warning;

    /// Nothing in a file that should hold a record.
    NoRecord = "no-record", Error;
    /// A record of another engine.
    OtherEngine {
        /// What the record names.
        found: String,
        /// What the spec names.
        expected: String,
    } = "other-engine", Error;
    /// Teeth, links or marks of the drive are not what they were when the record was made.
    OtherDrive = "other-drive", Error;
    /// A text that does not say where a dot stands.
    SeenUnreadable {
        /// As written.
        text: String,
        /// Why not.
        reason: String,
    } = "seen-unreadable", Error;
    /// Something seen that this drive does not have.
    SeenImpossible {
        /// Why not.
        reason: String,
    } = "seen-impossible", Error;
    /// Something both seen and not seen.
    SeenAndNotSeen {
        /// Chain and shaft.
        at: String,
    } = "seen-and-not-seen", Error;
    /// Crank turns that do not belong to the stage.
    StageTurns {
        /// The stage.
        stage: &'static str,
        /// Must the crankshaft have turned?
        must_turn: bool,
    } = "stage-turns", Error;
    /// An entry of a history that is not as it was written.
    HistoryBroken {
        /// Its number, from 1.
        entry: usize,
    } = "history-broken", Error;
    /// A history from whose end something was cut off.
    HistoryCut = "history-cut", Error;
    /// An entry of a history that cannot be read.
    EntryUnreadable {
        /// Why not.
        reason: String,
    } = "entry-unreadable", Error;
    /// More findings than are reported.
    MoreFindings {
        /// How many there are besides those reported.
        more: usize,
    } = "more-findings", Error;
    /// Sprockets of one chain whose pitch circles overlap.
    SprocketsOverlap {
        /// One.
        first: PartName,
        /// The other.
        second: PartName,
        /// Between their centres, in mm.
        apart: f64,
        /// The least that would do, in mm.
        least: f64,
    } = "sprockets-overlap", Warning;
    /// No straight strand leads from one part to the next.
    NoStrand {
        /// The part that it would leave.
        from: PartName,
        /// The part that it would reach.
        to: PartName,
    } = "no-strand", Warning;
    /// A sprocket that the chain passes without touching it.
    SprocketNotTouched {
        /// The sprocket.
        part: PartName,
        /// Is it on the outside?
        outside: bool,
    } = "sprocket-not-touched", Warning;
    /// A loop that does not go round exactly once.
    LoopWinds {
        /// The chain.
        chain: String,
        /// Turns in the direction of travel.
        turns: f64,
    } = "loop-winds", Warning;
    /// A chain that crosses itself.
    ChainCrosses {
        /// The chain.
        chain: String,
        /// The piece that a link meets first.
        first: Piece,
        /// The other.
        second: Piece,
        /// Where, in mm.
        at: [f64; 2],
    } = "chain-crosses", Warning;
    /// A strand through a sprocket that it neither leaves nor reaches.
    StrandThroughSprocket {
        /// The strand.
        strand: Piece,
        /// The sprocket.
        sprocket: PartName,
        /// How far it cuts into the pitch circle, in mm.
        by: f64,
    } = "strand-through-sprocket", Warning;
    /// A guide or tensioner that the chain does not touch.
    ShoeNotTouched {
        /// The guide or tensioner.
        part: PartName,
        /// From the shoe to the chain, in mm.
        gap: f64,
    } = "shoe-not-touched", Warning;
    /// Too few teeth in mesh.
    FewTeethInMesh {
        /// The sprocket.
        part: PartName,
        /// Teeth in mesh.
        teeth: f64,
        /// The fewest that pass.
        least: f64,
        /// The wrap that would give them, in degrees.
        wrap: f64,
    } = "few-teeth-in-mesh", Warning;
    /// A loop without a tensioner that does not hold the chain.
    ChainDoesNotFit {
        /// The chain.
        chain: String,
        /// Its links.
        links: u16,
        /// Links that the loop holds.
        holds: f64,
        /// The number of links that would fit, if any does.
        fits: Option<u16>,
        /// Over two sprockets: the distance between their centres that would fit, in mm.
        apart: Option<f64>,
    } = "chain-does-not-fit", Warning;
    /// No travel of the tensioner lets the loop hold the chain.
    TensionerCannotFit {
        /// The chain.
        chain: String,
        /// Its links.
        links: u16,
        /// Its elongation; zero is new.
        elongation: Exact,
        /// Links that the loop holds at the ends of the stroke, where it can be laid there.
        holds: Option<[f64; 2]>,
        /// The number of links that would fit, if any does.
        fits: Option<u16>,
    } = "tensioner-cannot-fit", Warning;
    /// A tensioner that slackens the chain where it pushes.
    TensionerSlackens {
        /// Where it pushes, in degrees clockwise from twelve o'clock.
        pushes: f64,
        /// The opposite.
        opposite: f64,
    } = "tensioner-slackens", Warning;
    /// A new chain, or one at its wear limit, that needs the tensioner outside of its stroke.
    TensionerOutOfStroke {
        /// The chain.
        chain: String,
        /// Its elongation; zero is new.
        elongation: Exact,
        /// The travel that it needs, in mm.
        travel: f64,
        /// The stroke, in mm.
        stroke: f64,
        /// The stroke that would do, in mm.
        would_do: f64,
        /// Where the tensioner would have to stand pushed back, if the chain does not go over it.
        centre: Option<[f64; 2]>,
        /// The number of links that would fit, if any does.
        fits: Option<u16>,
        /// Do the marks say that it has that number?
        marks_say_so: bool,
    } = "tensioner-out-of-stroke", Warning;
    /// A coloured link that cannot be on its dot, because no chain lies there.
    DotOffChain {
        /// The sprocket.
        part: PartName,
        /// Where the dot points, in degrees clockwise from twelve o'clock.
        dot: f64,
        /// Where the chain lies: from where it meets the sprocket to where it leaves it, and which way.
        chain_lies: [f64; 2],
        /// Does the sprocket turn clockwise?
        clockwise: bool,
    } = "dot-off-chain", Warning;
    /// Marked links that disagree with the links counted along the path.
    LinksDisagree {
        /// The sprocket whose mark is off.
        part: PartName,
        /// The sprocket from which the links were counted.
        from: PartName,
        /// Links from there to here by the marks.
        marked: Exact,
        /// Links from there to here by the path.
        counted: f64,
        /// How far the mark is ahead, in links.
        off: f64,
        /// The same in degrees of this sprocket.
        degrees: f64,
        /// The link that would agree.
        link: LinkPosition,
        /// The links of the chain.
        links: u16,
        /// The dot that would agree, in degrees clockwise from twelve o'clock, if the chain lies there.
        dot: Option<f64>,
    } = "links-disagree", Warning;
    /// A pitch that is in no series of ISO 606.
    PitchNotStandard {
        /// As written.
        pitch: Exact,
        /// The nearest that is.
        nearest: Exact,
    } = "pitch-not-standard", Note;
    /// Some of the geometry is there, but not all that is needed.
    GeometryIncomplete {
        /// The chain that cannot be laid.
        chain: String,
        /// Its shafts without a place.
        shafts: Vec<String>,
        /// Does the chain lack its pitch?
        pitch: bool,
    } = "geometry-incomplete", Note;
    /// Fewer of something than it takes.
    TooFewOf {
        /// What.
        what: &'static str,
        /// How many stand there.
        found: usize,
        /// The fewest.
        min: usize,
    } = "too-few", Error;
    /// A text that is no valve event.
    BadEvent {
        /// As written.
        text: String,
        /// Why not.
        reason: TradeAngleError,
    } = "bad-event", Error;
    /// A valve event counted from the wrong dead centre.
    EventDeadCentre {
        /// `intake` or `exhaust`.
        kind: &'static str,
        /// `opens` or `closes`.
        event: &'static str,
        /// As written.
        found: TradeAngle,
        /// The dead centre near which it belongs.
        expected: DeadCentre,
    } = "event-dead-centre", Error;
    /// Valves that open for no time, or for longer than a turn of the crankshaft.
    ValveDuration {
        /// From opening to closing.
        duration: CrankDegrees,
    } = "valve-duration", Error;
    /// Valves on a shaft that is no camshaft.
    ValvesNotOnCamshaft {
        /// The shaft.
        shaft: String,
    } = "valves-not-on-camshaft", Error;
    /// Both `lift` and `lift_table`.
    LiftAndTable = "lift-and-table", Error;
    /// Events stated at more than half the most lift.
    StatedLift {
        /// The lift at which the events are stated.
        at_lift: Exact,
        /// The most lift.
        most: Exact,
    } = "stated-lift", Error;
    /// A lift table that is no lobe.
    LiftTable {
        /// What is wrong with it.
        fault: LiftTableFault,
    } = "lift-table", Error;
    /// A lift table that contradicts the stated events.
    LiftTableDuration {
        /// What the events say.
        stated: CrankDegrees,
        /// What the table says, in tenths of a crank degree.
        by_table_tenths: i64,
    } = "lift-table-duration", Warning;
    /// A firing order with a cylinder missing or named twice.
    FiringOrder {
        /// How many are listed.
        count: usize,
        /// The first that is missing.
        missing: i64,
    } = "firing-order", Error;
    /// Another number of offsets than of cylinders.
    OffsetCount {
        /// Offsets.
        found: usize,
        /// Cylinders.
        cylinders: usize,
    } = "offset-count", Error;
    /// Offsets by which the cylinders fire in another order than the firing order.
    OffsetsAgainstFiringOrder {
        /// The first cylinder that is out of turn.
        cylinder: i64,
    } = "offsets-against-firing-order", Error;
    /// A connecting rod that could not pass the crankshaft.
    RodTooShort {
        /// The stroke.
        stroke: Exact,
    } = "rod-too-short", Error;
    /// A cylinder that the engine does not have, or the same one twice.
    ValveCylinder {
        /// As written.
        cylinder: i64,
        /// How many cylinders there are.
        count: usize,
        /// Is it there, but listed twice?
        twice: bool,
    } = "valve-cylinder", Error;
}

/// A part of a chain's path.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PartName {
    /// The sprocket of this shaft.
    Sprocket(String),
    /// A fixed guide.
    Guide,
    /// A tensioner's shoe.
    Tensioner,
}

/// A piece of a chain in its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Piece {
    /// The strand from one part to another.
    Strand(PartName, PartName),
    /// The chain on a part.
    On(PartName),
}

/// What keeps a lift table from being a lobe.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum LiftTableFault {
    /// The degrees do not rise by at least a thousandth.
    NotRising,
    /// The first or last lift is not 0.
    NotFromZero,
    /// It does not rise to one top and fall from there.
    NotOneTop,
    /// It is longer than a cycle.
    TooLong,
    /// Nowhere more lift than that at which the events are stated.
    TooLow,
}
