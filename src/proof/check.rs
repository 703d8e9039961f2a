//! The verdict, what stands against it, and from both: may the tensioner be released?

pub use crate::drive::error::CheckError;
use crate::drive::ids::{DriveTag, ShaftId};
use crate::drive::model::Drive;
use crate::plane::survey::survey;
use crate::proof::mesh;
use crate::spec::finding::{ChainProblem, Finding, FitProblem, Problem, Severity};
use crate::spec::format::MAX_SHAFTS;
use crate::timing::check::{
    CrankPlace, Judgement, Look, Notes, ShaftState, Stand, Unseen, Verdict, state, told,
};
use crate::timing::doubt::Doubt;
use crate::timing::hang::{ALL, Bench, FEW, SOME, State, hang};
use crate::timing::lookalike::{Fit, fits, one_fits};
use crate::timing::observe::Observations;
use crate::timing::remedy::{Left, Remedy, remedies as plan};
use crate::units::number::{Number, Steps};
use crate::units::quantity::Exact;

/// A verdict with its grounds, as [`check`] made it.
///
/// ```
/// use tautmark::{Drive, Observations, Seen, Source, Verdict, check, link_named, units::Teeth};
///
/// # let text = "
/// # tautmark: 1
/// # engine: Example single
/// # crank_turns: clockwise
/// # shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// # chains: { main: { links: 90, path: [
/// #   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 45 } ] } }
/// # ";
/// let source = Source::new("example.yaml", text.into()).unwrap();
/// let drive = Drive::read(&source).drive.unwrap();
///
/// let mut seen = Observations::at_timed_position();
/// seen.see_link(&drive, link_named(&drive, "crank")?, "on".parse()?)?;
/// // The camshaft was not looked at, so it is not taken to be right.
/// assert_eq!(check(&drive, &seen)?.verdict(), Verdict::NotProven);
///
/// seen.see_link(&drive, link_named(&drive, "cam")?, "2 behind".parse()?)?;
/// let outcome = check(&drive, &seen)?;
/// assert_eq!(outcome.verdict(), Verdict::OutOfTime);
/// assert_eq!(outcome.shafts()[1].off_teeth, Some(Teeth::whole(-2)));
/// assert!(!outcome.release_tensioner());
///
/// // What was seen at one engine proves nothing of another.
/// let other = Source::new("other.yaml", text.replace("36", "40").replace("18", "20").into()).unwrap();
/// let other = Drive::read(&other).drive.unwrap();
/// assert!(check(&other, &seen).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, PartialEq, Debug)]
pub struct Check {
    drive: DriveTag,
    verdict: Verdict,
    shafts: Vec<ShaftState>,
    remedies: Vec<Remedy>,
    not_seen: Vec<Unseen>,
    doubts: Vec<Doubt>,
    fits: Vec<Fit>,
    crank: CrankPlace,
}

impl Check {
    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        self.verdict
    }

    /// Is this a proof about `drive`?
    pub fn is_of(&self, drive: &Drive) -> bool {
        self.drive == drive.tag()
    }

    /// May the tensioner be released? Only where everything that must be in time is proven to be, no
    /// look-alike fits what was seen as well, and the spec does not contradict itself.
    pub fn release_tensioner(&self) -> bool {
        self.verdict == Verdict::InTime && self.fits.is_empty()
    }

    /// Every shaft that was or should have been looked at, in the order of the spec.
    pub fn shafts(&self) -> &[ShaftState] {
        &self.shafts
    }

    /// What to move, in that order. Carried out one by one, it leaves everything in time of which it
    /// is known where it stands ([`Check::remedies_suffice`]).
    pub fn remedies(&self) -> &[Remedy] {
        &self.remedies
    }

    /// Do the remedies put everything in time that must be? Not where a shaft was not looked at, or
    /// must be read again.
    pub fn remedies_suffice(&self, drive: &Drive) -> bool {
        let mut timed = self
            .shafts
            .iter()
            .filter(|state| drive.is_timed(state.shaft));
        !self.remedies.is_empty()
            && timed.all(|state| state.off.is_some())
            && !self
                .doubts
                .iter()
                .any(|doubt| matches!(doubt, Doubt::NotWholeTeeth { .. }))
    }

    /// What would have to be looked at for a proof.
    pub fn not_seen(&self) -> &[Unseen] {
        &self.not_seen
    }

    /// Everything that makes the verdict doubtful, or needs explaining.
    pub fn doubts(&self) -> &[Doubt] {
        &self.doubts
    }

    /// Where the crankshaft stood, which is what the shafts are measured from.
    pub fn crank(&self) -> CrankPlace {
        self.crank
    }

    /// The look-alikes that what was seen does not rule out, or looks just like.
    pub fn fits(&self) -> &[Fit] {
        &self.fits
    }
}

/// The proof that one look at a drive makes, with its grounds.
///
/// # Errors
/// [`CheckError::OtherDrive`] if `seen` was seen at another drive.
pub fn check(drive: &Drive, seen: &Observations) -> Result<Check, CheckError> {
    if !seen.are_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let lattice = drive.lattice()?;
    if let Some(steps) = &lattice.steps
        && let Ok(check) = checked(drive, seen, lattice.bench(steps))
    {
        return Ok(check);
    }
    checked(drive, seen, lattice.bench(&lattice.exact))
}

/// What [`check`] says where angles are no whole steps of the drive's lattice: reckoned in fractions throughout. It says
/// the same of every other look too, several times slower.
///
/// # Errors
/// As [`check`].
pub fn check_in_fractions(drive: &Drive, seen: &Observations) -> Result<Check, CheckError> {
    if !seen.are_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let lattice = drive.lattice()?;
    checked(drive, seen, lattice.bench(&lattice.exact))
}

/// The proof that one look at a drive makes, without its grounds: what [`check`] says, many times faster.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{Observations, Verdict, link_named, prove, units::Teeth};
///
/// let mut seen = Observations::at_timed_position();
/// for (shaft, what) in [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")] {
///     seen.see_link(&drive, link_named(&drive, shaft)?, what.parse()?)?;
/// }
/// let proof = prove(&drive, &seen)?;
/// assert_eq!(proof.verdict(), Verdict::OutOfTime);
/// let intake = drive.shaft_named("intake").and_then(|id| proof.shaft(&drive, id));
/// assert_eq!(intake.and_then(|state| state.off_teeth), Some(Teeth::whole(-2)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`check`].
pub fn prove(drive: &Drive, seen: &Observations) -> Result<Proof, CheckError> {
    prove_and_miss(drive, seen, None)
}

/// What [`prove`] says where angles are no whole steps of the drive's lattice, as [`check_in_fractions`].
///
/// # Errors
/// As [`check`].
pub fn prove_in_fractions(drive: &Drive, seen: &Observations) -> Result<Proof, CheckError> {
    if !seen.are_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let lattice = drive.lattice()?;
    proven(drive, seen, lattice.bench(&lattice.exact), None)
}

/// The proof, and what would have to be looked at for one.
pub(crate) fn prove_and_miss(
    drive: &Drive,
    seen: &Observations,
    mut missing: Option<&mut Vec<Unseen>>,
) -> Result<Proof, CheckError> {
    if !seen.are_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let lattice = drive.lattice()?;
    if let Some(steps) = &lattice.steps
        && let Ok(proof) = proven(drive, seen, lattice.bench(steps), missing.as_deref_mut())
    {
        return Ok(proof);
    }
    proven(drive, seen, lattice.bench(&lattice.exact), missing)
}

fn proven<N: Reckoned>(
    drive: &Drive,
    seen: &Observations,
    bench: Bench<'_, N>,
    missing: Option<&mut Vec<Unseen>>,
) -> Result<Proof, CheckError> {
    let size = bench.frame.size();
    if size <= FEW {
        proven_of::<N, FEW>(drive, seen, bench, missing)
    } else if size <= SOME {
        proven_of::<N, SOME>(drive, seen, bench, missing)
    } else {
        proven_of::<N, ALL>(drive, seen, bench, missing)
    }
}

// Never within its caller: the room for the largest drive would be taken, and touched page by page, for each.
#[inline(never)]
fn proven_of<N: Reckoned, const E: usize>(
    drive: &Drive,
    seen: &Observations,
    bench: Bench<'_, N>,
    mut missing: Option<&mut Vec<Unseen>>,
) -> Result<Proof, CheckError> {
    if let Some(missing) = &mut missing {
        missing.clear();
    }
    let mut state = State::<N, E>::new();
    bench.hang(seen, &mut state)?;
    let look = Look {
        drive,
        bench,
        seen,
        state: &state,
    };
    let mut judged = Judgement::new();
    look.judge(&mut Notes::brief(missing), &mut judged)?;
    let mut verdict = judged.verdict;
    if verdict != Verdict::NotProven && !mesh::out_of_mesh(drive, seen)?.is_empty() {
        verdict = Verdict::NotProven;
    }
    if verdict == Verdict::InTime && (in_doubt(drive) > 0 || drive.camshafts_not_named() > 0) {
        verdict = Verdict::NotProven;
    }
    Ok(Proof {
        drive: drive.tag(),
        verdict,
        release: verdict == Verdict::InTime && !one_fits(drive, seen)?,
        shafts: N::errors(bench, &judged.shafts)?,
    })
}

/// In how many places the spec contradicts itself.
fn in_doubt(drive: &Drive) -> usize {
    drive.contradictions(|drive| find_contradictions(drive).len())
}

fn checked<N: Reckoned>(
    drive: &Drive,
    seen: &Observations,
    bench: Bench<'_, N>,
) -> Result<Check, CheckError> {
    let size = bench.frame.size();
    if size <= FEW {
        checked_of::<N, FEW>(drive, seen, bench)
    } else if size <= SOME {
        checked_of::<N, SOME>(drive, seen, bench)
    } else {
        checked_of::<N, ALL>(drive, seen, bench)
    }
}

// Never within its caller: the room for the largest drive would be taken, and touched page by page, for each.
#[inline(never)]
fn checked_of<N: Reckoned, const E: usize>(
    drive: &Drive,
    seen: &Observations,
    bench: Bench<'_, N>,
) -> Result<Check, CheckError> {
    let (mut doubts, mut not_seen) = (Vec::new(), Vec::new());
    let mut state = State::<N, E>::new();
    bench.hang(seen, &mut state)?;
    let look = Look {
        drive,
        bench,
        seen,
        state: &state,
    };
    let mut judged = Judgement::new();
    look.judge(&mut Notes::full(&mut doubts, &mut not_seen), &mut judged)?;
    let mut verdict = judged.verdict;
    let mut out_of_mesh = mesh::out_of_mesh(drive, seen)?;
    // Half a turn off says it already.
    out_of_mesh.retain(|doubt| {
        !doubts.iter().any(|other| match (doubt, other) {
            (Doubt::OutOfMesh { at, .. }, Doubt::CannotBe { at: same, .. }) => at == same,
            _ => false,
        })
    });
    let mut remedies = Vec::new();
    if !out_of_mesh.is_empty() {
        doubts.extend(out_of_mesh);
        verdict = Verdict::NotProven;
    } else if let Some(left) = judged.remedy {
        let angle = |angle: N| angle.over(bench.angles.turn);
        let known = left.ahead[..bench.frame.shafts.len()].iter();
        let left = Left {
            without: left.without,
            ahead: known
                .map(|ahead| ahead.map(angle).transpose())
                .collect::<Result<_, _>>()?,
        };
        remedies = plan(drive, seen, &hang(drive, seen)?, &left)?;
    }
    let places = in_doubt(drive);
    if places > 0 {
        doubts.push(Doubt::SpecInDoubt { places });
        if verdict == Verdict::InTime {
            verdict = Verdict::NotProven;
        }
    }
    if drive.camshafts_not_named() > 0 {
        doubts.push(Doubt::CamshaftsNotNamed {
            named: drive.camshafts_named(),
            engine: drive.camshafts().unwrap_or(0),
        });
        if verdict == Verdict::InTime {
            verdict = Verdict::NotProven;
        }
    }
    let shafts = told(bench, &judged.shafts)?;
    let fits = fits(drive, seen, verdict, &shafts)?;
    Ok(Check {
        drive: drive.tag(),
        verdict,
        shafts,
        remedies,
        not_seen,
        doubts,
        fits,
        crank: look.crank_place()?,
    })
}

/// A verdict without its grounds, as [`prove`] made it.
#[derive(Clone, Debug)]
pub struct Proof {
    drive: DriveTag,
    verdict: Verdict,
    release: bool,
    shafts: Errors,
}

/// How every shaft stands, as it was reckoned.
#[derive(Clone, Debug)]
// In place, not in a box: a check in whole steps allocates nothing.
#[allow(clippy::large_enum_variant)]
pub(crate) enum Errors {
    Steps([Stand<Steps>; MAX_SHAFTS]),
    Exact(Vec<ShaftState>),
}

impl Proof {
    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        self.verdict
    }

    /// Is this a proof about `drive`?
    pub fn is_of(&self, drive: &Drive) -> bool {
        self.drive == drive.tag()
    }

    /// May the tensioner be released? As [`Check::release_tensioner`].
    pub fn release_tensioner(&self) -> bool {
        self.release
    }

    /// How a shaft stands; `None` for one that cannot be looked at, and for one of another drive.
    pub fn shaft(&self, drive: &Drive, id: ShaftId) -> Option<ShaftState> {
        if !self.is_of(drive) || !drive.owns_shaft(id) {
            return None;
        }
        match &self.shafts {
            Errors::Exact(states) => states.iter().find(|state| state.shaft == id).copied(),
            Errors::Steps(stands) => {
                let lattice = drive.lattice().ok()?;
                let known = id == drive.crank() || lattice.frame.shafts[id.index()].marked;
                let bench = lattice.bench(lattice.steps.as_ref().filter(|_| known)?);
                state(bench, id.index(), stands.get(id.index())?).ok()
            }
        }
    }
}

/// A number that a proof can keep.
trait Reckoned: Number {
    fn errors<const E: usize>(
        bench: Bench<'_, Self>,
        stands: &[Stand<Self>; E],
    ) -> Result<Errors, CheckError>;
}

impl Reckoned for Steps {
    fn errors<const E: usize>(
        _: Bench<'_, Self>,
        stands: &[Stand<Self>; E],
    ) -> Result<Errors, CheckError> {
        let mut kept = [Stand {
            off: None,
            contradicted: false,
        }; MAX_SHAFTS];
        for (kept, stand) in kept.iter_mut().zip(stands) {
            *kept = *stand;
        }
        Ok(Errors::Steps(kept))
    }
}

impl Reckoned for Exact {
    fn errors<const E: usize>(
        bench: Bench<'_, Self>,
        stands: &[Stand<Self>; E],
    ) -> Result<Errors, CheckError> {
        Ok(Errors::Exact(told(bench, stands)?))
    }
}

/// The places in which a spec contradicts itself: geometry and marks that cannot both be right. What
/// rests on such a spec is not proven.
pub fn contradictions(drive: &Drive) -> Vec<Finding> {
    let found = find_contradictions(drive);
    // Whoever asks for a verdict next need not survey the geometry again.
    drive.contradictions(|_| found.len());
    found
}

fn find_contradictions(drive: &Drive) -> Vec<Finding> {
    let mut found = survey(drive);
    // A limit of wear says nothing about where anything is, nor does what is not given.
    found.retain(|finding| {
        let silent = matches!(
            finding.problem,
            Problem::Chain(ChainProblem::ElongationLimit { .. })
                | Problem::Fit(FitProblem::PitchMissing { .. })
        );
        finding.severity() == Severity::Warning && !silent
    });
    found
}
