//! The verdict, what stands against it, and from both: may the tensioner be released?

pub use crate::drive::error::CheckError;
use crate::drive::ids::DriveTag;
use crate::drive::model::Drive;
use crate::plane::survey::survey;
use crate::proof::mesh;
use crate::spec::finding::{ChainProblem, Finding, Problem, Severity};
use crate::timing::check::{CrankPlace, ShaftState, Unseen, Verdict, judge};
use crate::timing::doubt::Doubt;
use crate::timing::lookalike::{Fit, fits};
use crate::timing::observe::Observations;
use crate::timing::remedy::Remedy;

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

/// The proof that one look at a drive makes.
///
/// # Errors
/// [`CheckError::OtherDrive`] if `seen` was seen at another drive.
pub fn check(drive: &Drive, seen: &Observations) -> Result<Check, CheckError> {
    if !seen.are_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let mut judged = judge(drive, seen)?;
    let mut out_of_mesh = mesh::out_of_mesh(drive, seen)?;
    // Half a turn off says it already.
    out_of_mesh.retain(|doubt| {
        !judged.doubts.iter().any(|other| match (doubt, other) {
            (Doubt::OutOfMesh { at, .. }, Doubt::CannotBe { at: same, .. }) => at == same,
            _ => false,
        })
    });
    if !out_of_mesh.is_empty() {
        judged.doubts.extend(out_of_mesh);
        judged.verdict = Verdict::NotProven;
        judged.remedies.clear();
    }
    let places = drive.contradictions(|drive| contradictions(drive).len());
    if places > 0 {
        judged.doubts.push(Doubt::SpecInDoubt { places });
        if judged.verdict == Verdict::InTime {
            judged.verdict = Verdict::NotProven;
        }
    }
    let fits = fits(drive, seen, &judged)?;
    Ok(Check {
        drive: drive.tag(),
        verdict: judged.verdict,
        shafts: judged.shafts,
        remedies: judged.remedies,
        not_seen: judged.not_seen,
        doubts: judged.doubts,
        fits,
        crank: judged.crank,
    })
}

/// The places in which a spec contradicts itself: geometry and marks that cannot both be right. What
/// rests on such a spec is not proven.
pub fn contradictions(drive: &Drive) -> Vec<Finding> {
    let mut found = survey(drive);
    // A limit of wear says nothing about where anything is.
    found.retain(|finding| {
        let wear = matches!(
            finding.problem,
            Problem::Chain(ChainProblem::ElongationLimit { .. })
        );
        finding.severity() == Severity::Warning && !wear
    });
    found
}
