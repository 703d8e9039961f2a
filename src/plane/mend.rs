//! Which single change to a spec would leave nothing to find of a chain? A finding shows where something does
//! not agree, not which of the values is the wrong one; so each small change is tried on the whole chain, and
//! only what makes all of it agree is offered, the smallest first.

use crate::drive::ids::ChainId;
use crate::drive::model::Drive;
use crate::drive::read::{self, Reading};
use crate::plane::survey::survey_chain;
use crate::plane::variation::{Variation, variations};
use crate::spec::finding::{ChainProblem, Finding, FitProblem, Problem, Remedy, Severity};
use crate::spec::raw::{self, Spec};
use crate::spec::source::Source;
use std::collections::{HashMap, HashSet};

/// So many changes are named; of the rest only how many there are.
const NAMED: usize = 8;

/// So many values are named for one place.
const OF_A_PLACE: usize = 3;

/// How many parts may be laid in the search of one file: some hundred changes to a drive of some size.
const MOST: usize = 12_000;

/// Seeks for every warning of the geometry in `reading` the single changes that would leave nothing to find of
/// its chain, and writes them into the findings.
///
/// It tries some hundred changes at a chain, so it costs as much as reading some hundred specs.
///
/// ```
/// use tautmark::{Source, plane::{lint, seek_remedies}, render::finding_text};
///
/// let text = include_str!("../../engines/kestrel-four.yaml");
/// // Somebody forgot that the tensioner pushes on the outside of the chain.
/// let at = text.find("tensioner:").ok_or("no tensioner")?;
/// let wrong = format!("{}{}", &text[..at], text[at..].replacen(", outside: true", "", 1));
/// let source = Source::new("kestrel", wrong.into())?;
/// let mut reading = lint(&source);
/// seek_remedies(&source, &mut reading);
/// let told = finding_text(&reading.findings[0], &source, false);
/// assert!(told.contains("give 'outside: true' for the tensioner"), "{told}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn seek_remedies(source: &Source, reading: &mut Reading) {
    let Some(drive) = &reading.drive else { return };
    let surveyed: Vec<Vec<Finding>> = drive.chains().map(|(id, _)| of_chain(drive, id)).collect();
    if surveyed
        .iter()
        .flatten()
        .all(|finding| !is_warning(finding))
    {
        return;
    }
    let mut ignored = Vec::new();
    let Some(spec) = raw::read(source, &mut ignored) else {
        return;
    };
    let trial = Trial {
        source,
        spec: &spec,
        warnings: surveyed.iter().map(|found| warnings(found)).collect(),
        of_spec: reading
            .findings
            .iter()
            .filter(|finding| is_warning(finding))
            .count()
            - surveyed.iter().map(|found| warnings(found)).sum::<usize>(),
    };
    let mut left = MOST;
    for (chain, found) in surveyed.iter().enumerate() {
        if warnings(found) == 0 {
            continue;
        }
        let remedy = trial.remedy(chain, found, &mut left);
        let mut first = None;
        for finding in &mut reading.findings {
            if !is_warning(finding) || !found.contains(finding) {
                continue;
            }
            finding.remedy = match (first, finding.span) {
                (None, span) => {
                    first = Some(span);
                    remedy.clone()
                }
                (Some(Some(first)), _) if matches!(remedy, Remedy::Any { .. }) => {
                    Remedy::With(first)
                }
                (Some(_), _) => remedy.clone(),
            };
        }
    }
}

fn of_chain(drive: &Drive, id: ChainId) -> Vec<Finding> {
    let mut found = Vec::new();
    survey_chain(drive, id, &mut found);
    found
}

/// Is it a warning that another value could take away?
fn is_warning(finding: &Finding) -> bool {
    finding.severity() == Severity::Warning
        && !matches!(
            finding.problem,
            Problem::Fit(FitProblem::PitchMissing { .. })
                | Problem::Chain(ChainProblem::ElongationLimit { .. })
        )
}

fn warnings(findings: &[Finding]) -> usize {
    findings
        .iter()
        .filter(|finding| is_warning(finding))
        .count()
}

/// A spec against which changes are tried.
struct Trial<'a> {
    source: &'a Source,
    spec: &'a Spec,
    /// Warnings of the geometry, chain by chain.
    warnings: Vec<usize>,
    /// Warnings besides.
    of_spec: usize,
}

impl Trial<'_> {
    fn remedy(&self, chain: usize, found: &[Finding], left: &mut usize) -> Remedy {
        let cost: usize = self.spec.chains.iter().map(|chain| chain.path.len()).sum();
        let mut mends: Vec<(u8, _)> = Vec::new();
        let mut all_tried = true;
        for variation in variations(self.spec, chain, found) {
            if *left < cost {
                all_tried = false;
                break;
            }
            *left -= cost;
            if self.agrees(chain, &variation) {
                mends.push((variation.size, variation.mend));
            }
        }
        // A few for each place: they say where to look, and more there would say no more.
        mends.sort_by_key(|(size, _)| *size);
        let mut told: HashMap<_, HashSet<String>> = HashMap::new();
        mends.retain(|(_, mend)| {
            let of_place = told.entry((mend.span, mend.change.key())).or_default();
            of_place.len() < OF_A_PLACE && of_place.insert(mend.change.without_why())
        });
        if mends.is_empty() {
            return Remedy::NoneAlone { all_tried };
        }
        Remedy::Any {
            more: mends.len().saturating_sub(NAMED),
            mends: mends
                .into_iter()
                .take(NAMED)
                .map(|(_, mend)| mend)
                .collect(),
        }
    }

    /// Does the change leave nothing to find of the chain, and nothing new elsewhere?
    fn agrees(&self, chain: usize, variation: &Variation) -> bool {
        let mut spec = self.spec.clone();
        (variation.make)(&mut spec);
        let mut found = Vec::new();
        let Some(drive) = read::check(self.source, &spec, &mut found) else {
            return false;
        };
        let broken = found
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        if broken || warnings(&found) > self.of_spec {
            return false;
        }
        let left = |id| warnings(&of_chain(&drive, id));
        let mut chains: Vec<_> = drive.chains().map(|(id, _)| id).collect();
        // The chain itself first: it is there that most changes fail.
        chains.sort_by_key(|id| id.index() != chain);
        chains.into_iter().all(|id| {
            let before = self.warnings.get(id.index()).copied().unwrap_or(0);
            let most = if id.index() == chain || variation.whole_spec {
                0
            } else {
                before
            };
            left(id) <= most
        })
    }
}
