//! Does the geometry of a drive hold together? Findings that only centres, radii and lengths can
//! show; a spec with such findings can still be used, because the exact model needs none of them.
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::{Chain, Drive, Part, Sprocket};
use crate::drive::read::Reading;
use crate::plane::geometry::{
    self, FitError, Limits, Path, PathError, PathFinding, Point, Tensioner, Vec2, elongated,
};
use crate::plane::layout::{Layout, LayoutError, MissingGeometry};
use crate::spec::finding::band::Band;
use crate::spec::finding::{
    self, ChainProblem, Finding, FitProblem, PartName, PathProblem, Piece, Problem,
};
use crate::spec::place::{ChainPlaces, PartPlaces};
use crate::spec::source::{Source, Span};
use crate::timing::lookalike::ambiguous_marks;
use crate::units::quantity::{Exact, LinkCount, LinkPosition};

/// Half of what would show as another whole or half link: up to a quarter of a link, marks and path
/// are taken to agree.
pub(crate) const AGREES: f64 = 0.25;

/// A loop without a tensioner may be this many links too long for its chain. Centres are written to a
/// tenth of a millimetre, and two strands of a chain of 6 to 10 mm make 0.02 to 0.03 links of that; the
/// chain's own clearances take up the rest. A chain that is shorter cannot be hung.
const TIGHT: f64 = 0.05;

/// A loop without a tensioner may be this many links too short for its chain: then it hangs slack, which
/// moves no dot, but above a quarter link the slack could no longer be told from a mark that is off.
const LOOSE: f64 = AGREES;

/// Pitches of the series of ISO 606, in thousandths of a millimetre.
pub(crate) const PITCHES: [i64; 15] = [
    6_000, 6_350, 8_000, 9_525, 12_700, 15_875, 19_050, 25_400, 31_750, 38_100, 44_450, 50_800,
    57_150, 63_500, 76_200,
];

/// Reads a spec as [`Drive::read`] does, and adds what its geometry shows.
///
/// ```
/// use tautmark::{Source, plane::lint};
///
/// let text = include_str!("../../engines/kestrel-four.yaml");
/// assert!(lint(&Source::new("kestrel", text.into())?).findings.is_empty());
///
/// let wrong = text.replace("link: 68", "link: 69");
/// let reading = lint(&Source::new("kestrel", wrong.into())?);
/// assert_eq!(reading.findings[0].code(), "links-disagree");
/// assert!(reading.drive.is_some());
/// # Ok::<(), tautmark::SourceError>(())
/// ```
pub fn lint(source: &Source) -> Reading {
    let mut reading = Drive::read(source);
    if let Some(drive) = &reading.drive {
        // A number that cannot be held leaves marks unjudged; the bounds of a drive prevent it.
        reading
            .findings
            .extend(ambiguous_marks(drive).unwrap_or_default());
        reading.findings.extend(survey(drive));
        reading
            .findings
            .sort_by_key(|finding| finding.span.map_or(0, |span| span.start));
    }
    reading
}

/// What the geometry of a drive shows: marks that disagree with the path, a chain that does not fit, a
/// tensioner out of its stroke, and parts in each other's way. Nothing where there is no geometry. The findings come chain by chain.
pub fn survey(drive: &Drive) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (id, _) in drive.chains() {
        survey_chain(drive, id, &mut findings);
    }
    findings
}

/// What the geometry of one chain shows, behind what was found of those before it.
pub(crate) fn survey_chain(drive: &Drive, id: ChainId, findings: &mut Vec<Finding>) {
    let before = findings.len();
    survey_one(drive, id, findings);
    finding::are_of(
        &mut findings[before..],
        Band::of_kind(drive.chain(id).kind()),
    );
}

fn survey_one(drive: &Drive, id: ChainId, findings: &mut Vec<Finding>) {
    let surveyor = Surveyor {
        drive,
        id,
        chain: drive.chain(id),
        places: drive.places().chains.get(id.index()),
    };
    if surveyor.chain.is_gears() {
        surveyor.gears(findings);
        return;
    }
    surveyor.pitch(findings);
    surveyor.elongation_limit(findings);
    surveyor.tensioner_on_tight_strand(findings);
    match Layout::new(drive, id) {
        Ok(layout) => {
            // Where the chain runs wrong, lengths and counts would only repeat it.
            if surveyor.path(&layout, findings) {
                let fits = surveyor.length(&layout, findings);
                surveyor.dots(&layout, findings);
                surveyor.marks(&layout, fits, findings);
            }
        }
        Err(LayoutError::NoPath(error)) => surveyor.no_path(&error, findings),
        Err(LayoutError::Missing(missing)) => surveyor.missing(missing, findings),
        // Every chain here is the drive's own.
        Err(LayoutError::OtherDrive | LayoutError::Gears) => {}
    }
}

/// Does a loop of `loop_links` without a tensioner hold a chain of `links`?
pub(crate) fn holds(loop_links: f64, links: u16) -> bool {
    (-LOOSE..=TIGHT).contains(&(loop_links - f64::from(links)))
}

/// Where a gear meets the other one of its pair, in clock degrees from its centre; `None` without centres. Inside of a ring
/// both meet on the same side: from the ring's centre towards the smaller gear's.
pub(crate) fn mesh_clock(drive: &Drive, at: Engagement) -> Option<f64> {
    let own = drive.sprocket(at);
    let mut pair = drive.chain(at.chain).engagements(at.chain);
    let (_, other) = pair.find(|(other, _)| *other != at)?;
    let place = |sprocket: &Sprocket| {
        let centre = drive.shaft(sprocket.shaft()).centre();
        centre.map(|[x, y]| Point::new(x.to_f64(), y.to_f64()))
    };
    let (here, there) = (place(own)?, place(other)?);
    let inner = own.outside() == other.outside() && own.teeth() < other.teeth();
    let way = if inner { here - there } else { there - here };
    Some(way.to_clock())
}

/// One chain under survey.
struct Surveyor<'a> {
    drive: &'a Drive,
    id: ChainId,
    chain: &'a Chain,
    places: Option<&'a ChainPlaces>,
}

impl Surveyor<'_> {
    fn places_of(&self, wheel: usize) -> PartPlaces {
        self.places
            .and_then(|places| places.parts.get(wheel))
            .copied()
            .unwrap_or_default()
    }

    /// Where a part's place in the plane is written: its shaft's `at`, or its own centre.
    fn centre_of(&self, wheel: usize) -> Span {
        let places = self.places_of(wheel);
        let at = match self.chain.path().get(wheel) {
            Some(Part::Sprocket(sprocket)) => {
                let shaft = self.engaged(*sprocket).1;
                let shafts = &self.drive.places().shafts;
                shafts.get(shaft).and_then(|shaft| shaft.at)
            }
            _ => places.centre,
        };
        at.unwrap_or(places.whole)
    }

    /// A sprocket of this chain, and the place of its shaft among the drive's.
    fn engaged(&self, sprocket: u8) -> (Engagement, usize) {
        let at = Engagement {
            chain: self.id,
            sprocket,
        };
        (at, self.drive.sprocket(at).shaft().index())
    }

    fn name(&self, wheel: usize) -> PartName {
        match self.chain.path().get(wheel) {
            Some(Part::Sprocket(sprocket)) => {
                let shaft = self.drive.sprocket(self.engaged(*sprocket).0).shaft();
                PartName::Sprocket(self.drive.shaft(shaft).name().to_owned())
            }
            Some(Part::Tensioner { .. }) => PartName::Tensioner,
            Some(Part::Guide(_)) | None => PartName::Guide,
        }
    }

    fn chain_name(&self) -> String {
        self.chain.name().to_owned()
    }

    fn pitch(&self, findings: &mut Vec<Finding>) {
        let (Some(pitch), Some(span)) = (
            self.chain.pitch(),
            self.places.and_then(|places| places.pitch),
        ) else {
            return;
        };
        let standard = || PITCHES.iter().filter_map(|t| Exact::fraction(*t, 1000));
        if standard().any(|standard| standard == pitch) {
            return;
        }
        let in_mm = pitch.checked_mul(Exact::fraction(127, 5).unwrap_or(Exact::ONE));
        if let Ok(in_mm) = in_mm
            && let Some(nearest) = standard().find(|standard| *standard == in_mm)
        {
            findings.push(Finding::new(
                FitProblem::PitchNotStandard {
                    pitch,
                    nearest,
                    inches: true,
                },
                span,
            ));
            return;
        }
        let away = |standard: &Exact| (standard.to_f64() - pitch.to_f64()).abs();
        if let Some(nearest) = standard().min_by(|a, b| away(a).total_cmp(&away(b))) {
            findings.push(Finding::new(
                FitProblem::PitchNotStandard {
                    pitch,
                    nearest,
                    inches: false,
                },
                span,
            ));
        }
    }

    /// Written as `1`, one per cent would let a chain of twice its length pass.
    fn elongation_limit(&self, findings: &mut Vec<Finding>) {
        let most = Exact::fraction(1, 20).unwrap_or(Exact::ONE);
        if let (Some(limit), Some(span)) = (
            self.chain.elongation_limit(),
            self.places.and_then(|places| places.elongation_limit),
        ) && limit > most
        {
            findings.push(Finding::new(ChainProblem::ElongationLimit { limit }, span));
        }
    }

    /// The strand that arrives at the driving sprocket is pulled; no slack comes there.
    fn tensioner_on_tight_strand(&self, findings: &mut Vec<Finding>) {
        let path = self.chain.path();
        let driver = self.chain.driver();
        let Some(at) = path
            .iter()
            .position(|part| matches!(part, Part::Sprocket(sprocket) if *sprocket == driver))
        else {
            return;
        };
        let first = (1..path.len()).find_map(|step| match &path[(at + step) % path.len()] {
            Part::Sprocket(sprocket) => Some(*sprocket),
            _ => None,
        });
        let Some(first) = first else { return };
        // Backwards from the driver, up to the last sprocket that it pulls on.
        for step in 1..path.len() {
            let part = (at + path.len() - step) % path.len();
            match &path[part] {
                Part::Sprocket(_) => return,
                Part::Tensioner { .. } => {
                    let place = self.places.and_then(|places| places.parts.get(part));
                    if let Some(place) = place {
                        let name = self.chain.sprockets()[usize::from(first)].shaft();
                        findings.push(Finding::new(
                            ChainProblem::TensionerOnTightStrand {
                                chain: self.chain.name().to_owned(),
                                slack_before: self.drive.shaft(name).name().to_owned(),
                            },
                            place.whole,
                        ));
                    }
                }
                Part::Guide(_) => {}
            }
        }
    }

    /// A note, once: somebody began to give the geometry. A spec without any place gives none.
    /// Are the centres of two gears as far apart as their teeth want it?
    fn gears(&self, findings: &mut Vec<Finding>) {
        /// A tenth of a module off, gears jam or chatter; a tenth of a millimetre is what centres are written to.
        const WITHIN: f64 = 0.15;
        if let Some(missing) = MissingGeometry::of(self.drive, self.id) {
            self.missing(missing, findings);
            return;
        }
        let [one, other] = self.chain.sprockets() else {
            return;
        };
        let place = |sprocket: &Sprocket| self.drive.shaft(sprocket.shaft()).centre();
        let (Some(pitch), Some(a), Some(b)) = (self.chain.pitch(), place(one), place(other)) else {
            return;
        };
        let point = |[x, y]: [Exact; 2]| Point::new(x.to_f64(), y.to_f64());
        let apart = point(a).distance(point(b));
        let radius = |sprocket: &Sprocket| {
            geometry::belt_pitch_diameter(pitch.to_f64(), u32::from(sprocket.teeth().get())) / 2.0
        };
        let internal = one.outside() == other.outside();
        let wanted = if internal {
            (radius(one) - radius(other)).abs()
        } else {
            radius(one) + radius(other)
        };
        if (apart - wanted).abs() > WITHIN {
            findings.push(Finding::new(
                FitProblem::GearCentres {
                    gears: self.chain_name(),
                    apart,
                    wanted,
                    internal,
                },
                self.places.map(|places| places.name).unwrap_or_default(),
            ));
            return;
        }
        for (at, sprocket) in self.chain.engagements(self.id) {
            let (Some(dot), Some(_)) = (sprocket.dot(), sprocket.mark()) else {
                continue;
            };
            let Some(mesh) = mesh_clock(self.drive, at) else {
                continue;
            };
            let dot = dot.get().to_f64();
            let off = (dot - mesh + 180.0).rem_euclid(360.0) - 180.0;
            // A quarter tooth, as for chains.
            if off.abs() * f64::from(sprocket.teeth().get()) / 360.0 > AGREES {
                let span = self
                    .drive
                    .part_places(at)
                    .and_then(|places| places.dot)
                    .or(self.places.map(|places| places.name));
                findings.push(Finding::new(
                    FitProblem::GearDot {
                        shaft: self.drive.shaft(sprocket.shaft()).name().to_owned(),
                        dot,
                        mesh: mesh.rem_euclid(360.0),
                    },
                    span.unwrap_or_default(),
                ));
            }
        }
    }

    fn missing(&self, missing: MissingGeometry, findings: &mut Vec<Finding>) {
        let begun = self
            .drive
            .shafts()
            .any(|(_, shaft)| shaft.centre().is_some());
        let told = findings.iter().any(|finding| {
            matches!(
                finding.problem,
                Problem::Fit(FitProblem::GeometryIncomplete { .. })
            )
        });
        if !begun {
            return;
        }
        if missing.shafts.is_empty() {
            findings.push(Finding::new(
                FitProblem::PitchMissing {
                    chain: self.chain_name(),
                },
                self.places.map(|places| places.name).unwrap_or_default(),
            ));
            return;
        }
        if told {
            return;
        }
        let span = match missing.shafts.first() {
            Some((id, _)) => self.drive.places().shafts.get(id.index()).map(|s| s.name),
            None => self.places.map(|places| places.name),
        };
        findings.push(Finding::new(
            FitProblem::GeometryIncomplete {
                chain: self.chain_name(),
                shafts: missing.shafts.into_iter().map(|(_, name)| name).collect(),
                pitch: missing.pitch_of.is_some(),
            },
            span.unwrap_or_default(),
        ));
    }

    /// Why there is no path at all. The bounds of the format leave only these three.
    fn no_path(&self, error: &PathError, findings: &mut Vec<Finding>) {
        match *error {
            PathError::Overlap { first, second, by } => {
                let centre = |wheel| match self.chain.path().get(wheel) {
                    Some(Part::Sprocket(sprocket)) => {
                        let at = self.drive.sprocket(self.engaged(*sprocket).0).shaft();
                        self.drive
                            .shaft(at)
                            .centre()
                            .map(|[x, y]| Point::new(x.to_f64(), y.to_f64()))
                    }
                    _ => None,
                };
                let apart = match (centre(first), centre(second)) {
                    (Some(one), Some(other)) => one.distance(other),
                    _ => 0.0,
                };
                findings.push(
                    Finding::new(
                        PathProblem::SprocketsOverlap {
                            first: self.name(first),
                            second: self.name(second),
                            apart,
                            least: apart + by,
                        },
                        self.centre_of(second),
                    )
                    .with(self.centre_of(first)),
                );
            }
            PathError::NoTangent { from, to } => findings.push(
                Finding::new(
                    PathProblem::NoStrand {
                        from: self.name(from),
                        to: self.name(to),
                    },
                    self.places_of(to).whole,
                )
                .with(self.places_of(from).whole),
            ),
            PathError::NotWrapped { wheel, .. } => {
                let outside = match self.chain.path().get(wheel) {
                    Some(Part::Sprocket(s)) => self.drive.sprocket(self.engaged(*s).0).outside(),
                    _ => false,
                };
                findings.push(Finding::new(
                    PathProblem::SprocketNotTouched {
                        part: self.name(wheel),
                        outside,
                    },
                    self.places_of(wheel).whole,
                ));
            }
            PathError::Pitch | PathError::Wheel { .. } | PathError::Wheels { .. } => {}
        }
    }

    /// Whether the chain runs as chains do: once round, through nothing.
    fn path(&self, layout: &Layout, findings: &mut Vec<Finding>) -> bool {
        let path = layout.path();
        let piece = |part: geometry::Part| match part {
            geometry::Part::Wheel(wheel) => Piece::On(self.name(wheel)),
            geometry::Part::Strand(number) => match path.strands().get(number) {
                Some(strand) => Piece::Strand(self.name(strand.from), self.name(strand.to)),
                None => Piece::On(PartName::Guide),
            },
        };
        let begins = |part: geometry::Part| match part {
            geometry::Part::Wheel(wheel) => wheel,
            geometry::Part::Strand(number) => {
                path.strands().get(number).map_or(0, |strand| strand.from)
            }
        };
        let mut crossed = false;
        let mut runs = true;
        let mut found = path.findings(&Limits::default());
        // Parts in the wrong order put everything else wrong too.
        if let Some(winds) = found
            .iter()
            .find(|finding| matches!(finding, PathFinding::Winds { .. }))
        {
            found = vec![*winds];
        }
        for finding in found {
            runs &= matches!(
                finding,
                PathFinding::FewTeeth { .. } | PathFinding::Untouched { .. }
            );
            findings.push(match finding {
                PathFinding::Crossing { first, second, at } => {
                    // One part in a wrong place makes several crossings; the first tells it.
                    if std::mem::replace(&mut crossed, true) {
                        continue;
                    }
                    Finding::new(
                        PathProblem::ChainCrosses {
                            chain: self.chain_name(),
                            first: piece(first),
                            second: piece(second),
                            at: [at.x, at.y],
                        },
                        self.places_of(begins(second)).whole,
                    )
                    .with(self.places_of(begins(first)).whole)
                }
                PathFinding::ThroughSprocket { strand, wheel, by } => Finding::new(
                    PathProblem::StrandThroughSprocket {
                        strand: piece(geometry::Part::Strand(strand)),
                        sprocket: self.name(wheel),
                        by,
                    },
                    self.places_of(wheel).whole,
                )
                .with(self.places_of(begins(geometry::Part::Strand(strand))).whole),
                PathFinding::FewTeeth {
                    wheel,
                    teeth,
                    least,
                } => {
                    let round = path.wheels().get(wheel);
                    let each = round.map_or(1.0, |round| round.links_per_degree(path.pitch()));
                    Finding::new(
                        PathProblem::FewTeethInMesh {
                            part: self.name(wheel),
                            teeth,
                            least,
                            wrap: least / each,
                        },
                        self.places_of(wheel).whole,
                    )
                }
                PathFinding::Untouched { wheel, gap } => Finding::new(
                    PathProblem::ShoeNotTouched {
                        part: self.name(wheel),
                        gap,
                    },
                    self.centre_of(wheel),
                ),
                PathFinding::Winds { turns } => Finding::new(
                    PathProblem::LoopWinds {
                        chain: self.chain_name(),
                        turns,
                    },
                    self.places.map_or(Span::default(), |places| places.name),
                ),
            });
        }
        runs
    }

    /// Does the chain fit, and does the tensioner reach, new and worn? The number of links that would fit, where
    /// that is another one.
    fn length(&self, layout: &Layout, findings: &mut Vec<Finding>) -> Option<u16> {
        let links = self.chain.links();
        let places = self.places.cloned().unwrap_or_default();
        let links_span = places.links.unwrap_or(places.name);
        let tensioner = match layout.tensioners() {
            [] => return self.without_tensioner(layout, links_span, findings),
            [only] => only,
            // Two share the work as their springs decide, which no spec says.
            _ => return None,
        };
        let part = self.places_of(tensioner.wheel);
        let cannot_fit = |layout: &Layout, elongation| {
            Finding::new(
                FitProblem::TensionerCannotFit {
                    chain: self.chain_name(),
                    links: links.get(),
                    elongation,
                    holds: self.holds(layout, tensioner, 0.0),
                    fits: self.fitting(layout, tensioner),
                },
                links_span,
            )
            .with(part.whole)
        };
        match layout.fit_error() {
            None => {}
            Some(FitError::Slackens { .. }) => findings.push(Finding::new(
                FitProblem::TensionerSlackens {
                    pushes: tensioner.pushes,
                    opposite: (tensioner.pushes + 180.0).rem_euclid(360.0),
                },
                part.pushes.unwrap_or(part.whole),
            )),
            Some(_) => findings.push(cannot_fit(layout, Exact::ZERO)),
        }
        let Some(new) = layout.fit() else {
            return self.fitting(layout, tensioner);
        };
        let mut travels = vec![(Exact::ZERO, new.travel)];
        if let Some(limit) = self.chain.elongation_limit()
            && let Ok(worn) = Layout::worn(self.drive, self.id, limit)
        {
            match worn.fit() {
                Some(fit) => travels.push((limit, fit.travel)),
                None => findings.push(cannot_fit(layout, limit)),
            }
        }
        // A new chain that does not fit will not fit worn, and once is enough.
        let (elongation, travel) = travels
            .into_iter()
            .find(|(_, travel)| !(0.0..=tensioner.stroke).contains(travel))?;
        let fits = self.fitting(layout, tensioner);
        let more = travel - new.travel;
        findings.push(self.out_of_stroke(layout, tensioner, elongation, (travel, more), fits));
        fits
    }

    /// Does a loop without a tensioner hold the chain?
    fn without_tensioner(
        &self,
        layout: &Layout,
        links_span: Span,
        findings: &mut Vec<Finding>,
    ) -> Option<u16> {
        let links = self.chain.links().get();
        let holds = layout.path().links();
        if self::holds(holds, links) {
            return None;
        }
        let whole = to_links((holds - TIGHT).ceil());
        let whole = whole.filter(|whole| whole % 2 == 0 && self::holds(holds, *whole));
        findings.push(Finding::new(
            FitProblem::ChainDoesNotFit {
                chain: self.chain_name(),
                links,
                holds,
                fits: whole,
                apart: apart_for(layout.path(), f64::from(links)),
            },
            links_span,
        ));
        whole
    }

    /// A chain that needs its tensioner outside of the stroke: to travel so far from its place pushed back,
    /// and so much more than a new chain needs.
    fn out_of_stroke(
        &self,
        layout: &Layout,
        tensioner: &Tensioner,
        elongation: Exact,
        (travel, more): (f64, f64),
        fits: Option<u16>,
    ) -> Finding {
        let places = self.places.cloned().unwrap_or_default();
        let part = self.places_of(tensioner.wheel);
        let links_span = places.links.unwrap_or(places.name);
        let short = travel < 0.0;
        let marks_say_so = fits.is_some_and(|fits| self.marked_for(layout, fits));
        let tensioner_span = if short { part.centre } else { part.stroke };
        let tensioner_span = tensioner_span.unwrap_or(part.whole);
        let rule = if elongation.is_zero() {
            links_span
        } else {
            places.elongation_limit.unwrap_or(links_span)
        };
        let centre = layout.path().wheels().get(tensioner.wheel).map(|wheel| {
            // A tenth of a millimetre more than needed, so that the written tenth does.
            let back = wheel.centre + Vec2::from_clock(tensioner.pushes) * (more - 0.1);
            [back.x, back.y]
        });
        let (at, because) = if marks_say_so {
            (links_span, tensioner_span)
        } else {
            (tensioner_span, rule)
        };
        Finding::new(
            FitProblem::TensionerOutOfStroke {
                chain: self.chain_name(),
                elongation,
                travel,
                stroke: tensioner.stroke,
                would_do: (travel * 10.0).ceil() / 10.0,
                centre: centre.filter(|_| short),
                fits,
                marks_say_so,
            },
            at,
        )
        .with(because)
    }

    /// Links that the loop holds with the tensioner at the ends of its stroke, fewest first.
    fn holds(&self, layout: &Layout, tensioner: &Tensioner, elongation: f64) -> Option<[f64; 2]> {
        let path = layout.path();
        let pushed_back = layout.fit().map_or(0.0, |fit| fit.travel);
        let pitch = elongated(path.pitch(), elongation);
        let at = |travel: f64| {
            let mut wheels = path.wheels().to_vec();
            let shoe = wheels.get_mut(tensioner.wheel)?;
            shoe.centre = shoe.centre + Vec2::from_clock(tensioner.pushes) * (travel - pushed_back);
            Some(Path::new(&wheels, pitch, path.travel()).ok()?.links())
        };
        let (back, out) = (at(0.0)?, at(tensioner.stroke)?);
        Some([back.min(out), back.max(out)])
    }

    /// A number of links, an even one for a chain, that the tensioner can hold, new and at the wear limit: a chain of an odd number
    /// would need a cranked link.
    fn fitting(&self, layout: &Layout, tensioner: &Tensioner) -> Option<u16> {
        let [least, mut most] = self.holds(layout, tensioner, 0.0)?;
        if let Some(limit) = self.chain.elongation_limit() {
            most = most.min(self.holds(layout, tensioner, limit.to_f64())?[1]);
        }
        let now = self.chain.links().get();
        (LinkCount::MIN..=LinkCount::MAX)
            .filter(|links| {
                (self.chain.is_belt() || links.is_multiple_of(2))
                    && (least..=most).contains(&f64::from(*links))
            })
            .min_by_key(|links| links.abs_diff(now))
    }

    /// Coloured links on dots where no chain lies.
    fn dots(&self, layout: &Layout, findings: &mut Vec<Finding>) {
        for (at, sprocket) in self.chain.engagements(self.id) {
            let (Some(dot), Some(_), Some(wheel)) =
                (sprocket.dot(), sprocket.mark(), layout.wheel_of(at))
            else {
                continue;
            };
            let dot = dot.get().to_f64();
            let path = layout.path();
            let (Some((_, false)), Some(contact)) =
                (path.position(wheel, dot), path.contact(wheel))
            else {
                continue;
            };
            let places = self.places_of(wheel);
            findings.push(
                Finding::new(
                    FitProblem::DotOffChain {
                        part: self.name(wheel),
                        dot,
                        chain_lies: [
                            contact.entry_clock.rem_euclid(360.0),
                            contact.exit_clock.rem_euclid(360.0),
                        ],
                        clockwise: contact.turns.sign() > 0.0,
                    },
                    places.dot.unwrap_or(places.whole),
                )
                .with(places.link.unwrap_or(places.whole)),
            );
        }
    }

    /// Marked links against counted links. `fits` is the number of links that the chain should have, if the one it has
    /// does not fit.
    fn marks(&self, layout: &Layout, fits: Option<u16>, findings: &mut Vec<Finding>) {
        let residuals: Vec<_> = self
            .chain
            .engagements(self.id)
            .filter_map(|(at, _)| Some((at, layout.residual(self.drive, at)?)))
            .collect();
        let wrong = |off: f64| off.abs() > AGREES;
        let (least, most) = residuals.iter().fold(
            (f64::INFINITY, f64::NEG_INFINITY),
            |(least, most), (_, r)| (least.min(r.off), most.max(r.off)),
        );
        if fits.is_some_and(|fits| self.marked_for(layout, fits)) {
            return;
        }
        // All off alike: it is the one they are counted from that is off, and one line to change.
        if let [(first, residual), _, ..] = residuals.as_slice()
            && residuals.iter().all(|(_, residual)| wrong(residual.off))
            && most - least <= AGREES
        {
            let links = self.chain.links().to_exact();
            let turned = residual.marked.negated().modulo(links);
            findings.extend(self.disagreement(
                layout,
                residual.from,
                *first,
                turned.unwrap_or(residual.marked),
                links.to_f64() - residual.counted,
                -(least + most) / 2.0,
            ));
            return;
        }
        for (at, residual) in &residuals {
            if wrong(residual.off) {
                findings.extend(self.disagreement(
                    layout,
                    *at,
                    residual.from,
                    residual.marked,
                    residual.counted,
                    residual.off,
                ));
            }
        }
    }

    /// Do the marks agree with the path if the chain has `links` links? Then they are all off by the links that it is said
    /// to have too many.
    fn marked_for(&self, layout: &Layout, links: u16) -> bool {
        let excess = f64::from(self.chain.links().get()) - f64::from(links);
        let mut residuals = self
            .chain
            .engagements(self.id)
            .filter_map(|(at, _)| layout.residual(self.drive, at))
            .peekable();
        residuals.peek().is_some()
            && residuals.all(|residual| (residual.off + excess).abs() <= AGREES)
    }

    fn disagreement(
        &self,
        layout: &Layout,
        at: Engagement,
        from: Engagement,
        marked: Exact,
        counted: f64,
        off: f64,
    ) -> Option<Finding> {
        let (wheel, from) = (layout.wheel_of(at)?, layout.wheel_of(from)?);
        let sprocket = self.drive.sprocket(at);
        let agreeing = agreeing(layout, self.drive, at, off)?;
        let (places, origin) = (self.places_of(wheel), self.places_of(from));
        Some(
            Finding::new(
                FitProblem::LinksDisagree {
                    part: self.name(wheel),
                    from: self.name(from),
                    marked,
                    counted,
                    off,
                    degrees: off * 360.0 / f64::from(sprocket.teeth().get()),
                    link: agreeing.0,
                    links: self.chain.links().get(),
                    dot: agreeing.1,
                },
                places.link.unwrap_or(places.whole),
            )
            .with(origin.link.unwrap_or(origin.whole)),
        )
    }
}

/// The link and the dot with which a mark that is `off` links ahead would agree: the nearest whole or
/// half link, or the dot turned ahead by as much.
fn agreeing(
    layout: &Layout,
    drive: &Drive,
    at: Engagement,
    off: f64,
) -> Option<(LinkPosition, Option<f64>)> {
    let sprocket = drive.sprocket(at);
    let (dot, mark) = (sprocket.dot()?, sprocket.mark()?);
    let contact = layout.path().contact(layout.wheel_of(at)?)?;
    let link = half_link(
        mark.link.get().to_f64() - off,
        drive.chain(at.chain).links().to_exact(),
    )?;
    let ahead = off * 360.0 / f64::from(sprocket.teeth().get());
    let dot = (dot.get().to_f64() + contact.turns.sign() * ahead).rem_euclid(360.0);
    let wheel = layout.wheel_of(at)?;
    let lies_there =
        ahead.abs() <= contact.wrap && layout.path().position(wheel, dot).is_some_and(|(_, on)| on);
    let dot = Some(dot).filter(|_| lies_there);
    Some((link, dot))
}

/// The nearest whole or half link on a chain of `links`.
pub(crate) fn half_link(link: f64, links: Exact) -> Option<LinkPosition> {
    let halves = (link * 2.0).round();
    // Links are counted to 2000 at most, and a count goes round no more than twice.
    if halves.is_nan() || halves.abs() > 1e6 {
        return None;
    }
    #[allow(
        clippy::cast_possible_truncation,
        reason = "a whole number under a million"
    )]
    let halves = Exact::fraction(halves as i64, 2)?;
    Some(LinkPosition::new(halves.modulo(links).ok()?))
}

fn to_links(links: f64) -> Option<u16> {
    (LinkCount::MIN..=LinkCount::MAX).find(|n| f64::from(*n) == links)
}

/// Over two sprockets alone: how far apart they would have to be for the loop to hold `links`.
fn apart_for(path: &Path, links: f64) -> Option<f64> {
    let [first, second] = path.wheels() else {
        return None;
    };
    let apart = second.centre - first.centre;
    let now = apart.length();
    let holds = |distance: f64| {
        let mut moved = [*first, *second];
        moved[1].centre = first.centre + apart * (distance / now);
        Path::new(&moved, path.pitch(), path.travel())
            .ok()
            .map(|path| path.links())
    };
    // Each millimetre more makes the loop longer, by two millimetres at most.
    let most = now + (links - path.links()).abs() * path.pitch() + path.pitch();
    let (mut near, mut far) = (
        first.radius(path.pitch()) + second.radius(path.pitch()),
        most,
    );
    if holds(near).is_some_and(|holds| holds > links) || holds(far)? < links {
        return None;
    }
    for _ in 0..60 {
        let middle = f64::midpoint(near, far);
        if holds(middle).is_some_and(|holds| holds > links) {
            far = middle;
        } else {
            near = middle;
        }
    }
    Some(f64::midpoint(near, far))
}

#[cfg(test)]
mod tests {
    use super::holds;

    /// Too long a loop pulls the chain tight: that much only as a tenth of a millimetre makes. Too short a one
    /// leaves it slack, which moves no dot as long as it is less than what tells half a link.
    #[test]
    fn a_loop_without_a_tensioner_may_be_so_tight_and_so_loose() {
        for (loop_links, may) in [
            (100.06, false),
            (100.04, true),
            (100.0, true),
            (99.76, true),
            (99.74, false),
        ] {
            assert_eq!(holds(loop_links, 100), may, "{loop_links}");
        }
    }
}
