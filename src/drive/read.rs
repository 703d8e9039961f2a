//! From the file as written to the checked model, with a finding for everything that does not hold.

use crate::drive::ids::DriveTag;
use crate::drive::{
    build::*, checks::*, graph::Graph, model::Drive, plan, valve_build, valve_checks,
};
use crate::spec::finding::{self, DriveProblem, Finding, MarkProblem, Problem, Severity};
use crate::spec::raw::{ShaftKind, Spec};
use crate::spec::source::Source;
use crate::units::quantity::{CrankDegrees, Exact};

/// What reading a spec came to.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The model; `None` if a finding is an error.
    pub drive: Option<Drive>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
    /// Was the text no mapping at all, so that the one finding is why?
    pub unreadable: bool,
}

impl Drive {
    /// Most findings of one file that are reported each by itself. Nobody mends more in one go, and
    /// a file made to annoy can hold a mistake in every second byte.
    pub const MAX_FINDINGS: usize = 100;

    /// Reads a spec. Every mistake in it is found in one go; beyond [`Self::MAX_FINDINGS`] the rest
    /// is one finding that counts them.
    ///
    /// ```
    /// use tautmark::{Drive, Source};
    ///
    /// let source = Source::new("example.yaml", b"tautmark: 1\nengine: Example\n".to_vec())?;
    /// let reading = Drive::read(&source);
    /// // No model of half a spec; what is missing is said all at once.
    /// assert!(reading.drive.is_none());
    /// assert!(reading.findings.iter().all(|finding| finding.code() == "missing-key"));
    /// assert_eq!(reading.findings.len(), 3);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn read(source: &Source) -> Reading {
        let mut findings = Vec::new();
        let spec = crate::spec::raw::read(source, &mut findings);
        let unreadable = spec.is_none();
        let drive = spec.and_then(|spec| check(source, &spec, &mut findings));
        finding::in_order(&mut findings, Self::MAX_FINDINGS);
        let broken = findings
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        Reading {
            drive: drive.filter(|_| !broken),
            findings,
            unreadable,
        }
    }

    /// The model of a spec whose marks are still to be found, so that mistakes of marks do not count; the
    /// findings are those that do, beyond [`Self::MAX_FINDINGS`] one that counts the rest.
    pub(crate) fn read_unmarked(source: &Source) -> (Option<Self>, Vec<Finding>) {
        let mut findings = Vec::new();
        let drive = crate::spec::raw::read(source, &mut findings)
            .and_then(|spec| check(source, &spec, &mut findings));
        findings.retain(|finding| {
            finding.severity() == Severity::Error
                && !matches!(
                    finding.problem,
                    Problem::Mark(
                        MarkProblem::NothingToSee { .. }
                            | MarkProblem::LinksOutOfOrder { .. }
                            | MarkProblem::LinkShared { .. }
                            | MarkProblem::LinkPastEnd { .. }
                            | MarkProblem::LinksNotNeighbours { .. }
                    )
                )
        });
        let drive = drive.filter(|_| findings.is_empty());
        finding::in_order(&mut findings, Self::MAX_FINDINGS);
        (drive, findings)
    }
}

/// The model of `spec`, with a finding for everything that does not hold together.
pub(crate) fn check(source: &Source, spec: &Spec, findings: &mut Vec<Finding>) -> Option<Drive> {
    let plan = plan::check(&spec.job, findings);
    if too_large(spec) {
        return None;
    }
    let crank = crankshaft(spec, findings);
    for shaft in &spec.shafts {
        if let (Some(phaser), Some(kind)) = (&shaft.phaser, &shaft.kind)
            && kind.value != ShaftKind::Camshaft
        {
            findings.push(
                Finding::new(
                    DriveProblem::PhaserNotOnCamshaft {
                        shaft: shaft.name.value.clone(),
                    },
                    phaser.span,
                )
                .with(kind.span),
            );
        }
    }
    check_camshafts(spec, findings);
    for chain in &spec.chains {
        let before = findings.len();
        check_chain(spec, chain, findings);
        finding::are_of(&mut findings[before..], chain.band());
    }
    nothing_to_see(spec, findings);
    valve_checks::check(spec, findings);
    let graph = Graph::of(spec, crank?, findings);
    let driver = |chain: usize| graph.chains[chain].map(|(driver, _)| driver);
    driven_gears(spec, driver, findings);
    let mut drive = build(DriveTag::of(source.text()), spec, crank?, &graph, plan)?;
    // A mark that is wrong is no mark yet: what the links cannot prove shows once it is mended.
    if !findings
        .iter()
        .any(|finding| finding.severity() == Severity::Error)
    {
        links_that_cannot_prove(spec, &drive, findings);
    }
    if drive.too_intricate() {
        findings.push(Finding::new(DriveProblem::TooIntricate, spec.shafts_span));
        return None;
    }
    let mut before = 0;
    for chain in &mut drive.chains {
        chain.before = before;
        before += chain.sprockets.len();
        chain.tooth = CrankDegrees::new(Exact::whole(360).checked_div(chain.speed).ok()?);
    }
    drive.cylinders = valve_build::build_cylinders(spec);
    drive.valves = valve_build::build_valves(spec, &drive);
    Some(drive)
}
