//! The geometry of a drive in figures: what somebody who answers for a spec holds against the maker's drawing.
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::{Chain, Drive, Part};
use crate::plane::geometry::Tension;
use crate::plane::layout::{Layout, LayoutError, Residual};
use crate::spec::finding::PartName;
use crate::units::quantity::ToothCount;

/// The figures of one chain.
#[derive(Clone, PartialEq, Debug)]
pub struct ChainReport {
    /// The chain.
    pub chain: ChainId,
    /// Its figures, or why there are none.
    pub laid: Result<Laid, LayoutError>,
}

/// A chain in its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Laid {
    /// Links that the loop holds, the tensioner in its place. With a tensioner that fits: the chain's own number.
    pub loop_links: f64,
    /// The length of the loop, in mm.
    pub loop_mm: f64,
    /// The parts of the path, in its order.
    pub parts: Vec<PartReport>,
    /// The strands between them, in the order of travel.
    pub strands: Vec<StrandReport>,
    /// The marks, sprocket by sprocket; without a residual for the one from which the links are counted, and where there is
    /// nothing to compare.
    pub marks: Vec<(Engagement, Option<Residual>)>,
    /// The chain's one tensioner.
    pub tensioner: Option<TensionerReport>,
}

/// A part of a path.
#[derive(Clone, PartialEq, Debug)]
pub struct PartReport {
    /// What it is.
    pub name: PartName,
    /// Teeth, of a sprocket.
    pub teeth: Option<ToothCount>,
    /// The wrap in degrees.
    pub wrap: f64,
    /// Links on it: of a sprocket, teeth in mesh.
    pub links: f64,
}

/// A strand from one part to the next.
#[derive(Clone, PartialEq, Debug)]
pub struct StrandReport {
    /// The part that it leaves.
    pub from: PartName,
    /// The part that it reaches.
    pub to: PartName,
    /// Its length in mm.
    pub mm: f64,
    /// Its length in links.
    pub links: f64,
    /// Tight or slack while the engine turns its normal way.
    pub tension: Tension,
}

/// Where a tensioner stands.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TensionerReport {
    /// Its stroke in mm.
    pub stroke: f64,
    /// Its travel with a new chain, in mm; `None` if no travel would do.
    pub new: Option<f64>,
    /// The same at the chain's elongation limit, where it has one.
    pub worn: Option<f64>,
}

/// The figures of every chain, in the order of the spec.
///
/// ```
/// use tautmark::{Drive, Source, plane::geometry_report};
///
/// let source = Source::new("wren", std::fs::read("engines/wren-single.yaml")?)?;
/// let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let report = geometry_report(&drive);
/// let main = report[0].laid.as_ref().map_err(|_| "not laid")?;
/// // With its tensioner in its place the loop holds the chain, and strands and wraps make up the loop.
/// assert!((main.loop_links - 90.0).abs() < 1e-6);
/// let links: f64 = main.strands.iter().map(|s| s.links).chain(main.parts.iter().map(|p| p.links)).sum();
/// assert!((links - main.loop_links).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn geometry_report(drive: &Drive) -> Vec<ChainReport> {
    drive
        .chains()
        .map(|(id, chain)| ChainReport {
            chain: id,
            laid: Layout::new(drive, id).map(|layout| laid(drive, id, chain, &layout)),
        })
        .collect()
}

fn laid(drive: &Drive, id: ChainId, chain: &Chain, layout: &Layout) -> Laid {
    let path = layout.path();
    let name = |wheel: usize| match chain.path().get(wheel) {
        Some(Part::Sprocket(sprocket)) => {
            let at = Engagement {
                chain: id,
                sprocket: *sprocket,
            };
            PartName::Sprocket(drive.shaft(drive.sprocket(at).shaft()).name().to_owned())
        }
        Some(Part::Tensioner { .. }) => PartName::Tensioner,
        Some(Part::Guide(_)) | None => PartName::Guide,
    };
    let parts = (0..path.wheels().len())
        .filter_map(|wheel| {
            let contact = path.contact(wheel)?;
            let teeth = match chain.path().get(wheel) {
                Some(Part::Sprocket(sprocket)) => chain
                    .sprockets()
                    .get(usize::from(*sprocket))
                    .map(crate::drive::model::Sprocket::teeth),
                _ => None,
            };
            Some(PartReport {
                name: name(wheel),
                teeth,
                wrap: contact.wrap,
                links: contact.links,
            })
        })
        .collect();
    let strands = layout
        .strands()
        .map(|(strand, tension)| StrandReport {
            from: name(strand.from),
            to: name(strand.to),
            mm: strand.length,
            links: strand.links,
            tension,
        })
        .collect();
    let tensioner = match layout.tensioners() {
        [only] => Some(TensionerReport {
            stroke: only.stroke,
            new: layout.fit().map(|fit| fit.travel),
            worn: chain.elongation_limit().and_then(|limit| {
                let worn = Layout::worn(drive, id, limit).ok()?;
                Some(worn.fit()?.travel)
            }),
        }),
        _ => None,
    };
    Laid {
        loop_links: path.links(),
        loop_mm: path.length(),
        parts,
        strands,
        marks: chain
            .engagements(id)
            .filter(|(_, sprocket)| sprocket.is_marked())
            .map(|(at, _)| (at, layout.residual(drive, at)))
            .collect(),
        tensioner,
    }
}
