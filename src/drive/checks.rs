//! What has to hold for each shaft, chain and mark as written, and between them.

use crate::drive::model::Drive;
use crate::spec::conform::nearest;
use crate::spec::finding::{self, ChainProblem, DriveProblem, Finding, MarkProblem};
use crate::spec::format::key;
use crate::spec::raw::{ChainSpec, EntrySpec, ShaftKind, ShaftSpec, Spec, SprocketSpec};
use crate::spec::source::{At, Span};
use crate::units::quantity::{Exact, LinkCount, LinkPosition};

/// Is there so much more than a drive can have that checking how it hangs together would only cost
/// time? A finding says so already. A few shafts too many are checked all the same.
pub(super) fn too_large(spec: &Spec) -> bool {
    const TIMES: usize = 4;
    spec.shafts.len() > TIMES * crate::spec::format::MAX_SHAFTS
        || spec.chains.len() > TIMES * crate::spec::format::MAX_CHAINS
        || spec
            .chains
            .iter()
            .any(|chain| chain.path.len() > TIMES * crate::spec::format::MAX_PATH)
}

pub(super) fn crankshaft(spec: &Spec, findings: &mut Vec<Finding>) -> Option<usize> {
    let mut cranks = spec.shafts.iter().enumerate().filter(|(_, shaft)| {
        shaft
            .kind
            .as_ref()
            .is_some_and(|kind| kind.value == ShaftKind::Crankshaft)
    });
    let Some((crank, first)) = cranks.next() else {
        // Shafts of unknown kind may hide it; then that finding is enough, and if there is only one
        // such shaft the rest is checked as if it were the crankshaft.
        let mut unknown = (0..spec.shafts.len()).filter(|i| spec.shafts[*i].kind.is_none());
        let hidden = unknown.next();
        if hidden.is_none() && !spec.shafts.is_empty() {
            findings.push(Finding::new(DriveProblem::NoCrankshaft, spec.shafts_span));
        }
        return hidden.filter(|_| unknown.next().is_none());
    };
    let mut only = true;
    for (_, second) in cranks {
        only = false;
        findings.push(
            Finding::new(
                DriveProblem::SecondCrankshaft {
                    name: second.name.value.clone(),
                },
                second.name.span,
            )
            .with(first.name.span),
        );
    }
    only.then_some(crank)
}

/// Are as many camshafts named as the engine has?
pub(super) fn check_camshafts(spec: &Spec, findings: &mut Vec<Finding>) {
    let Some(said) = spec.camshafts else { return };
    let Ok(engine) = usize::try_from(said.value) else {
        return;
    };
    let of_kind = |shaft: &&ShaftSpec| {
        let kind = shaft.kind.as_ref();
        kind.is_some_and(|kind| kind.value == ShaftKind::Camshaft)
    };
    let named = spec.shafts.iter().filter(of_kind).count();
    // One whose kind could not be read may be the missing one.
    let all_known = spec.shafts.iter().all(|shaft| shaft.kind.is_some());
    if named > engine {
        let problem = DriveProblem::CamshaftsMiscounted { named, engine };
        findings.push(Finding::new(problem, said.span));
    } else if named < engine && all_known {
        let problem = DriveProblem::CamshaftsNotNamed { named, engine };
        findings.push(Finding::new(problem, said.span));
    }
}

/// The sprockets of a chain's path.
pub(super) fn sprockets(chain: &ChainSpec) -> impl Iterator<Item = &SprocketSpec> {
    chain.path.iter().filter_map(|entry| match entry {
        EntrySpec::Sprocket(sprocket) => Some(sprocket),
        _ => None,
    })
}

pub(super) fn shaft_index(spec: &Spec, sprocket: &SprocketSpec) -> Option<usize> {
    let name = sprocket.shaft.as_ref()?;
    spec.shafts
        .iter()
        .position(|shaft| shaft.name.value == name.value)
}

/// Shafts that must be in time and that no mark could prove.
pub(super) fn nothing_to_see(spec: &Spec, findings: &mut Vec<Finding>) {
    for shaft in &spec.shafts {
        let needs_sight = shaft.kind.as_ref().is_some_and(|kind| {
            matches!(
                kind.value,
                ShaftKind::Crankshaft | ShaftKind::Camshaft | ShaftKind::Balance
            )
        });
        let its_sprockets = spec.chains.iter().flat_map(sprockets).filter(|sprocket| {
            let name = sprocket.shaft.as_ref();
            name.is_some_and(|name| name.value == shaft.name.value)
        });
        // A shaft without a sprocket is a finding already.
        let mut marks = its_sprockets.map(|sprocket| sprocket.marked);
        if needs_sight && marks.next() == Some(false) && !marks.any(|marked| marked) {
            findings.push(Finding::new(
                MarkProblem::NothingToSee {
                    shaft: shaft.name.value.clone(),
                },
                shaft.name.span,
            ));
        }
    }
}

/// What can be said of one chain by itself.
pub(super) fn check_chain(spec: &Spec, chain: &ChainSpec, findings: &mut Vec<Finding>) {
    let name = &chain.name.value;
    let all: Vec<&SprocketSpec> = sprockets(chain).collect();
    let unreadable = chain
        .path
        .iter()
        .any(|entry| matches!(entry, EntrySpec::Unreadable));
    if all.len() < 2 && !unreadable {
        findings.push(
            Finding::new(
                ChainProblem::TooFewSprockets {
                    chain: name.clone(),
                    found: all.len(),
                },
                chain.path_span,
            )
            .with(chain.name.span),
        );
    }
    if chain.is_gears() {
        gears(spec, chain, &all, findings);
        return;
    }
    let inside = chain
        .path
        .iter()
        .filter(|entry| match entry {
            EntrySpec::Sprocket(sprocket) => !sprocket.outside,
            EntrySpec::Shoe(shoe) => !shoe.outside,
            EntrySpec::Unreadable => true,
        })
        .count();
    if all.len() >= 2 && inside < 2 {
        findings.push(Finding::new(
            ChainProblem::TooFewInside {
                chain: name.clone(),
                inside,
            },
            chain.path_span,
        ));
    }
    if let Some(links) = chain.links
        && !links.value.get().is_multiple_of(2)
        && !chain.cranked_link
        && !chain.is_belt()
    {
        findings.push(Finding::new(
            ChainProblem::OddLinks {
                chain: name.clone(),
                links: links.value.get(),
            },
            links.span,
        ));
    }
    if chain.is_belt() {
        let limit = chain.elongation_limit.map(|limit| limit.span);
        for (key, span) in [
            (
                key::CRANKED_LINK,
                chain.cranked_link.then_some(chain.cranked_span),
            ),
            (key::ELONGATION_LIMIT, limit),
        ] {
            let Some(span) = span else { continue };
            findings.push(Finding::new(
                ChainProblem::NotOfABelt {
                    belt: name.clone(),
                    key,
                },
                span,
            ));
        }
    }
    named_once(spec, chain, &all, findings);
    if let Some(links) = chain.links {
        too_short(chain, links, &all, findings);
        marks_of_chain(chain, links, &all, findings);
    }
    dots_and_colours(&all, findings);
}

/// Every sprocket is of a shaft that there is, and no shaft is on the chain twice.
fn named_once(
    spec: &Spec,
    chain: &ChainSpec,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let name = &chain.name.value;
    for (i, sprocket) in all.iter().enumerate() {
        let Some(shaft) = &sprocket.shaft else {
            continue;
        };
        if shaft_index(spec, sprocket).is_none() {
            findings.push(Finding::new(
                DriveProblem::UnknownShaft {
                    name: shaft.value.clone(),
                    nearest: nearest(
                        &shaft.value,
                        spec.shafts.iter().map(|shaft| shaft.name.value.as_str()),
                    )
                    .map(str::to_owned),
                },
                shaft.span,
            ));
        }
        let twin = all[..i].iter().find_map(|other| {
            let other = other.shaft.as_ref()?;
            (other.value == shaft.value).then_some(other.span)
        });
        if let Some(twin) = twin {
            findings.push(
                Finding::new(
                    ChainProblem::ShaftTwiceOnChain {
                        shaft: shaft.value.clone(),
                        chain: name.clone(),
                    },
                    shaft.span,
                )
                .with(twin),
            );
        }
    }
}

/// Dots within one turn, and colours of something.
fn dots_and_colours(all: &[&SprocketSpec], findings: &mut Vec<Finding>) {
    for sprocket in all {
        if let Some(dot) = sprocket.dot
            && (dot.value.get() < Exact::ZERO || dot.value.get() >= Exact::whole(360))
            // Further out is out of range, which was said on reading.
            && dot.value.get().abs() <= Exact::whole(360)
        {
            findings.push(Finding::new(
                MarkProblem::DotAngle { angle: dot.value },
                dot.span,
            ));
        }
        if let (Some(colour), None, None) = (&sprocket.colour, &sprocket.link, &sprocket.links) {
            findings.push(Finding::new(MarkProblem::ColourWithoutLink, colour.span));
        }
    }
}

/// What can be said of a pair of gears by itself; which of them drives shows later.
fn gears(
    spec: &Spec,
    chain: &ChainSpec,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let name = &chain.name.value;
    let shoes = chain
        .path
        .iter()
        .filter(|entry| matches!(entry, EntrySpec::Shoe(_)))
        .count();
    if all.len() > 2 || shoes > 0 {
        findings.push(Finding::new(
            ChainProblem::NotAGearPair {
                gears: name.clone(),
                found: all.len(),
                shoes,
            },
            chain.path_span,
        ));
    }
    let limit = chain.elongation_limit.map(|limit| limit.span);
    let cranked = chain.cranked_link.then_some(chain.cranked_span);
    for (key, span) in [
        (key::CRANKED_LINK, cranked),
        (key::ELONGATION_LIMIT, limit),
    ] {
        if let Some(span) = span {
            findings.push(Finding::new(
                ChainProblem::NotOfGears {
                    gears: name.clone(),
                    key,
                },
                span,
            ));
        }
    }
    for sprocket in all {
        let other = sprocket.link.filter(|link| link.value != 0);
        let spans = [
            other.map(|link| link.span),
            sprocket.links.map(|links| links.span),
        ];
        for span in spans.into_iter().flatten() {
            findings.push(Finding::new(
                ChainProblem::GearMark {
                    gears: name.clone(),
                },
                span,
            ));
        }
    }
    named_once(spec, chain, all, findings);
    dots_and_colours(all, findings);
}

/// The gears of each pair, once it is known which of them drives.
pub(super) fn driven_gears(
    spec: &Spec,
    driver: impl Fn(usize) -> Option<usize>,
    findings: &mut Vec<Finding>,
) {
    for (c, chain) in spec.chains.iter().enumerate() {
        let all: Vec<&SprocketSpec> = sprockets(chain).collect();
        let (true, Some(driver), [_, _]) = (chain.is_gears(), driver(c), all.as_slice()) else {
            continue;
        };
        let before = findings.len();
        let name_of = |gear: &SprocketSpec| {
            let name = gear.shaft.as_ref();
            name.map_or_else(String::new, |name| name.value.clone())
        };
        let (drives, driven) = (all[driver], all[1 - driver]);
        if let (Some(links), Some(teeth)) = (chain.links, driven.teeth)
            && links.value.get() != teeth.value.get()
        {
            findings.push(
                Finding::new(
                    ChainProblem::GearTeeth {
                        gears: chain.name.value.clone(),
                        links: links.value.get(),
                        driven: name_of(driven),
                        teeth: teeth.value.get(),
                    },
                    links.span,
                )
                .with(teeth.span),
            );
        }
        if drives.outside {
            findings.push(Finding::new(
                ChainProblem::GearOutside {
                    gears: chain.name.value.clone(),
                    driver: name_of(drives),
                    driven: name_of(driven),
                },
                drives.span,
            ));
        }
        finding::are_of(&mut findings[before..], chain.band());
    }
}

/// Two sprockets inside the loop take up at least half their teeth each.
pub(super) fn too_short(
    chain: &ChainSpec,
    links: At<LinkCount>,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let mut teeth: Vec<u32> = all
        .iter()
        .filter(|sprocket| !sprocket.outside)
        .filter_map(|sprocket| Some(u32::from(sprocket.teeth?.value.get())))
        .collect();
    teeth.sort_unstable_by(|a, b| b.cmp(a));
    if let [largest, next, ..] = teeth[..] {
        let least = (largest + next) / 2 + 1;
        if u32::from(links.value.get()) < least {
            findings.push(Finding::new(
                ChainProblem::ChainTooShort {
                    chain: chain.name.value.clone(),
                    least,
                },
                links.span,
            ));
        }
    }
}

/// The link on which a sprocket's dot belongs, where the spec says so in order.
pub(super) fn mark_of(sprocket: &SprocketSpec, links: LinkCount) -> Option<(LinkPosition, Span)> {
    let count = i64::from(links.get());
    let inside = |link: i64| (0..count).contains(&link);
    if let Some(link) = sprocket.link {
        return inside(link.value).then_some((LinkPosition::whole(link.value), link.span));
    }
    let pair = sprocket.links?;
    let [first, second] = pair.value;
    (inside(first) && inside(second) && (first + 1) % count == second)
        .then(|| Exact::fraction(2 * first + 1, 2))
        .flatten()
        .map(|half| (LinkPosition::new(half), pair.span))
}

pub(super) fn marks_of_chain(
    chain: &ChainSpec,
    links: At<LinkCount>,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let count = links.value.get();
    let past_end = |link: i64, span: Span, findings: &mut Vec<Finding>| {
        if link >= i64::from(count) {
            findings.push(
                Finding::new(MarkProblem::LinkPastEnd { link, links: count }, span)
                    .with(links.span),
            );
        }
    };
    for sprocket in all {
        if let Some(link) = sprocket.link {
            past_end(link.value, link.span, findings);
        }
        let Some(pair) = sprocket.links else { continue };
        if let Some(link) = sprocket.link {
            findings.push(Finding::new(MarkProblem::LinkAndLinks, pair.span).with(link.span));
            continue;
        }
        let [first, second] = pair.value;
        past_end(first.max(second), pair.span, findings);
        if first.max(second) < i64::from(count) && (first + 1) % i64::from(count) != second {
            findings.push(Finding::new(
                MarkProblem::LinksNotNeighbours {
                    first,
                    second,
                    links: count,
                },
                pair.span,
            ));
        }
    }

    let marks: Vec<(LinkPosition, Span, &SprocketSpec)> = all
        .iter()
        .filter_map(|sprocket| {
            let (link, span) = mark_of(sprocket, links.value)?;
            Some((link, span, *sprocket))
        })
        .collect();
    let mut shared = false;
    for (i, (link, span, _)) in marks.iter().enumerate() {
        if let Some((_, first, owner)) = marks[..i].iter().find(|(other, ..)| other == link) {
            shared = true;
            let shaft = owner.shaft.as_ref().map(|shaft| shaft.value.clone());
            findings.push(
                Finding::new(
                    MarkProblem::LinkShared {
                        link: *link,
                        shaft: shaft.unwrap_or_default(),
                    },
                    *span,
                )
                .with(*first),
            );
        }
    }
    // Going once around the path, the numbers rise and start again from the lowest exactly once.
    let falls = |forward: bool| {
        (0..marks.len())
            .filter(|i| {
                let (here, next) = (marks[*i].0, marks[(i + 1) % marks.len()].0);
                if forward { next < here } else { next > here }
            })
            .count()
    };
    if marks.len() > 2 && !shared && falls(true) != 1 {
        let at = (1..marks.len()).find(|i| marks[*i].0 < marks[i - 1].0);
        let offence = at.map_or(marks[0].1, |i| marks[i].1);
        let before = at.map_or(marks[0].1, |i| marks[i - 1].1);
        findings.push(
            Finding::new(
                MarkProblem::LinksOutOfOrder {
                    chain: chain.name.value.clone(),
                    reversed: falls(false) == 1,
                },
                offence,
            )
            .with(before),
        );
    }
}

pub(super) fn links_that_cannot_prove(spec: &Spec, drive: &Drive, findings: &mut Vec<Finding>) {
    for (id, shaft) in drive.shafts() {
        if !drive.is_timed(id) {
            continue;
        }
        // Where no link of a chain is given, nobody expects links to prove anything.
        let blind = drive
            .way_to(id)
            .flat_map(|(driver, driven)| [driver, driven])
            .find(|at| {
                let mut chain = sprockets(&spec.chains[at.chain.index()]);
                drive.sprocket(*at).mark.is_none()
                    && chain.any(|sprocket| sprocket.link.is_some() || sprocket.links.is_some())
            });
        if let Some(at) = blind {
            let offence = &spec.chains[at.chain.index()];
            let span = sprockets(offence)
                .nth(usize::from(at.sprocket))
                .map_or(offence.path_span, |sprocket| sprocket.span);
            findings.push(Finding {
                band: offence.band(),
                ..Finding::new(
                    MarkProblem::LinksCannotProve {
                        shaft: shaft.name.clone(),
                        chain: offence.name.value.clone(),
                        at: drive.shaft(drive.sprocket(at).shaft).name.clone(),
                    },
                    span,
                )
            });
        }
    }
}
