//! What is where, in millimetres of the engine: the chains as laid, every link, dot and shoe.
//! Positions are exact up to the last step, which makes millimetres of them.

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::{Drive, Part, Sprocket};
use crate::plane::geometry::{belt_pitch_diameter, Place, Point, Round, Strand, Tension, Travel, Vec2};
use crate::plane::layout::{self, Layout, LayoutError};
use crate::plane::survey::mesh_clock;
use crate::render::svg::{Area, Spot};
use crate::timing::pose::{Pose, SprocketPose};
use crate::units::quantity::Exact;

/// One chain with all that it runs over, as it stands.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The chain.
    pub chain: ChainId,
    /// From pin to pin, in mm.
    pub pitch: f64,
    /// The way in which it goes round.
    pub travel: Travel,
    /// Every link, by its number.
    pub links: Vec<LinkPlace>,
    /// Every sprocket, in the order of travel.
    pub sprockets: Vec<SprocketPlace>,
    /// Guides and tensioners, in the order of travel.
    pub shoes: Vec<ShoePlace>,
    /// Straight runs between them.
    pub strands: Vec<(Strand, Tension)>,
    /// The outline of a tooth of its sprockets, as [`TOOTH`].
    pub(in crate::render) tooth: &'static [(f64, f64)],
}

/// A link.
#[derive(Clone, Debug)]
pub struct LinkPlace {
    /// Its number; on a chain without coloured links, only its place in the drawing.
    pub number: u16,
    /// The pin at its end, counted in the direction of travel: the one nearer to link 0.
    pub begin: Point,
    /// The other pin.
    pub end: Point,
    /// The sprocket for whose dot it is coloured.
    pub marks: Option<Engagement>,
}

impl LinkPlace {
    /// Half way between its pins.
    pub fn middle(&self) -> Point {
        self.begin + (self.end - self.begin) * 0.5
    }
}

/// A sprocket.
#[derive(Clone, Debug)]
pub struct SprocketPlace {
    /// How it stands.
    pub stand: SprocketPose,
    /// Its centre.
    pub centre: Point,
    /// The radius of its pitch circle.
    pub radius: f64,
    /// Its teeth.
    pub teeth: u16,
    /// Where one of its teeth points, in clock degrees.
    pub tooth: f64,
    /// Where its dot points and where it should, in clock degrees.
    pub dot: Option<(f64, f64)>,
    /// The way in which it turns.
    pub turns: Travel,
}

impl SprocketPlace {
    /// A place at a clock angle, so far from its centre.
    pub fn at_clock(&self, clock: f64, radius: f64) -> Point {
        self.centre + Vec2::from_clock(clock) * radius
    }
}

/// A guide or a tensioner.
#[derive(Clone, Debug)]
pub struct ShoePlace {
    /// The centre of its arc, the tensioner at its travel.
    pub centre: Point,
    /// The radius on which the pins of the chain lie, in mm.
    pub radius: f64,
    /// The arc on which the chain lies, in clock degrees the way it slides, the second above the first if that is
    /// clockwise. `None`: the chain does not touch it.
    pub arc: Option<(f64, f64)>,
    /// The tensioner's working; a guide has none.
    pub tensioner: Option<TensionerPlace>,
}

impl ShoePlace {
    /// The middle of what the chain lies on.
    pub(super) fn middle(&self) -> Point {
        let clock = match (self.arc, self.tensioner) {
            (Some((first, last)), _) => f64::midpoint(first, last),
            (None, Some(tensioner)) => tensioner.pushes,
            (None, None) => 0.0,
        };
        self.centre + Vec2::from_clock(clock) * self.radius
    }
}

/// How a tensioner stands.
#[derive(Clone, Copy, Debug)]
pub struct TensionerPlace {
    /// The clock angle in which it pushes.
    pub pushes: f64,
    /// How far it can, in mm.
    pub stroke: f64,
    /// How far it is out, in mm; `None` if no travel makes the chain fit.
    pub travel: Option<f64>,
}

impl Picture {
    /// One chain in its place.
    ///
    /// # Errors
    /// [`LayoutError`], if the spec lacks what it takes or the chain has no path.
    pub fn new(drive: &Drive, pose: &Pose, id: ChainId) -> Result<Self, LayoutError> {
        let layout = match Layout::new(drive, id) {
            Err(LayoutError::Gears) => return Ok(Self::of_gears(drive, pose, id)),
            layout => layout?,
        };
        let chain = drive.chain(id);
        let path = layout.path();
        let moved = pose.moved(id).to_f64();
        let pins = Pins::new(drive, &layout, id);
        let count = chain.links().get();
        let mut links = Vec::with_capacity(usize::from(count));
        for number in 0..count {
            let link = f64::from(number);
            let ends = (pins.at(link - 0.5, moved), pins.at(link + 0.5, moved));
            if let (Some(begin), Some(end)) = ends {
                links.push(LinkPlace {
                    number,
                    begin: begin.point,
                    end: end.point,
                    marks: owner(drive, id, number),
                });
            }
        }
        let mut sprockets = Vec::new();
        let mut shoes = Vec::new();
        for (wheel, (part, place)) in chain.path().iter().zip(path.wheels()).enumerate() {
            match part {
                Part::Sprocket(sprocket) => {
                    let at = Engagement {
                        chain: id,
                        sprocket: *sprocket,
                    };
                    let Some(stand) = pose.sprocket(drive, at) else {
                        continue;
                    };
                    let of = drive.sprocket(at);
                    let turns = place.turns(path.travel());
                    let timed = timed_clock(&pins, of, wheel);
                    let dot = timed.map(|timed| {
                        let clock = |turns_past: f64| timed + turns.sign() * 360.0 * turns_past;
                        (
                            clock(stand.past.get().to_f64()),
                            clock(stand.due.get().to_f64()),
                        )
                    });
                    let on_chain = || {
                        links
                            .iter()
                            .map(LinkPlace::middle)
                            .min_by(|one, other| {
                                let off = |p: &Point| {
                                    (p.distance(place.centre) - place.radius(path.pitch())).abs()
                                };
                                off(one).total_cmp(&off(other))
                            })
                            .map_or(0.0, |point| (point - place.centre).to_clock())
                    };
                    sprockets.push(SprocketPlace {
                        stand: *stand,
                        centre: place.centre,
                        radius: place.radius(path.pitch()),
                        teeth: of.teeth().get(),
                        tooth: dot.map_or_else(on_chain, |(is, _)| is),
                        dot,
                        turns,
                    });
                }
                Part::Guide(_) | Part::Tensioner { .. } => {
                    let Round::Shoe { radius } = place.round else {
                        continue;
                    };
                    let tensioner = match part {
                        Part::Tensioner { pushes, stroke, .. } => Some(TensionerPlace {
                            pushes: pushes.get().to_f64(),
                            stroke: stroke.to_f64(),
                            travel: layout.fit().map(|fit| fit.travel),
                        }),
                        _ => None,
                    };
                    shoes.push(ShoePlace {
                        centre: place.centre,
                        radius,
                        arc: path.contact(wheel).map(|contact| {
                            let first = contact.entry_clock;
                            (first, first + contact.turns.sign() * contact.wrap)
                        }),
                        tensioner,
                    });
                }
            }
        }
        Ok(Self {
            chain: id,
            pitch: path.pitch(),
            travel: layout.travel(),
            links,
            sprockets,
            shoes,
            strands: layout
                .strands()
                .map(|(strand, tension)| (*strand, tension))
                .collect(),
            tooth: if chain.is_belt() { &GAP } else { &TOOTH },
        })
    }

    /// A pair of gears. A dot without an angle faces the other gear.
    fn of_gears(drive: &Drive, pose: &Pose, id: ChainId) -> Self {
        let chain = drive.chain(id);
        let pitch = chain.pitch().map_or(1.0, Exact::to_f64);
        let driver = drive.driver_of(id);
        let internal = chain.sprockets().windows(2).all(|two| two[0].outside() == two[1].outside());
        let centre = |sprocket: &Sprocket| {
            let centre = drive.shaft(sprocket.shaft()).centre();
            centre.map_or(Point::new(0.0, 0.0), |[x, y]| Point::new(x.to_f64(), y.to_f64()))
        };
        let travel = layout::travel(drive, id);
        let mut sprockets = Vec::new();
        for (at, sprocket) in chain.engagements(id) {
            let Some(stand) = pose.sprocket(drive, at) else {
                continue;
            };
            let here = centre(sprocket);
            let meets = mesh_clock(drive, at).unwrap_or(0.0);
            let turns = if at == driver || internal { travel } else { travel.reversed() };
            let clock = |from: f64, past: Exact| from + turns.sign() * 360.0 * past.to_f64();
            let step = 360.0 / f64::from(sprocket.teeth().get());
            // Where the one has a tooth, the other has a gap.
            let gap = if at == driver { 0.0 } else { step / 2.0 };
            let due = sprocket.dot().map_or(meets, |dot| dot.get().to_f64());
            sprockets.push(SprocketPlace {
                stand: *stand,
                centre: here,
                radius: belt_pitch_diameter(pitch, u32::from(sprocket.teeth().get())) / 2.0,
                teeth: sprocket.teeth().get(),
                tooth: clock(meets, stand.past.get()) + gap,
                dot: sprocket
                    .is_marked()
                    .then(|| (clock(due, stand.past.get()), clock(due, stand.due.get()))),
                turns,
            });
        }
        Self {
            chain: id,
            pitch,
            travel,
            links: Vec::new(),
            sprockets,
            shoes: Vec::new(),
            strands: Vec::new(),
            tooth: &GEAR,
        }
    }
}

/// A place of the engine on a page in millimetres, y down.
pub(in crate::render) fn on_page(point: Point) -> Spot {
    Spot {
        x: point.x,
        y: -point.y,
    }
}

/// How far everything reaches, y down. `plunger`: how far a plunger reaches behind the middle of its shoe.
pub(super) fn extent(pictures: &[Picture], plunger: impl Fn(&Picture) -> f64) -> Area {
    let mut area = Area {
        left: f64::INFINITY,
        top: f64::INFINITY,
        right: f64::NEG_INFINITY,
        bottom: f64::NEG_INFINITY,
    };
    let mut take = |point: Point, around: f64| {
        area.left = area.left.min(point.x - around);
        area.right = area.right.max(point.x + around);
        area.top = area.top.min(-point.y - around);
        area.bottom = area.bottom.max(-point.y + around);
    };
    for picture in pictures {
        for link in &picture.links {
            take(link.begin, picture.pitch);
        }
        for sprocket in &picture.sprockets {
            take(sprocket.centre, sprocket.radius + picture.pitch);
        }
        for shoe in &picture.shoes {
            if let Some(tensioner) = shoe.tensioner {
                let way = Vec2::from_clock(tensioner.pushes);
                take(shoe.middle() - way * plunger(picture), 0.0);
            }
        }
    }
    area
}

/// Every sprocket with its chain: the smaller of two on one shaft is drawn over the larger.
pub(super) fn largest_first(pictures: &[Picture]) -> Vec<(&Picture, &SprocketPlace)> {
    let mut sprockets: Vec<(&Picture, &SprocketPlace)> = pictures
        .iter()
        .flat_map(|picture| picture.sprockets.iter().map(move |each| (picture, each)))
        .collect();
    sprockets.sort_by(|(_, one), (_, other)| other.radius.total_cmp(&one.radius));
    sprockets
}

/// The outline of a tooth from gap to gap: how many teeth off its middle, and how many pitches outside of the
/// pitch circle.
pub(in crate::render) const TOOTH: [(f64, f64); 5] = [
    (-0.5, -0.3),
    (-0.33, -0.26),
    (-0.12, 0.28),
    (0.12, 0.28),
    (0.33, -0.26),
];

/// The same of a toothed pulley, from tooth to tooth: where a tooth of the belt lies, the pulley has a gap. Its teeth
/// end a little inside of the pitch circle, on which the belt's cord lies.
const GAP: [(f64, f64); 5] = [
    (-0.5, -0.08),
    (-0.34, -0.08),
    (-0.22, -0.42),
    (0.22, -0.42),
    (0.34, -0.08),
];

/// The same of a gear: a module, which is the pitch over pi, outside of the pitch circle, and a quarter more inside.
const GEAR: [(f64, f64); 5] = [
    (-0.5, -0.4),
    (-0.34, -0.4),
    (-0.15, 0.31),
    (0.15, 0.31),
    (0.34, -0.4),
];

/// The sprocket for whose dot a link of a chain is coloured.
pub(super) fn owner(drive: &Drive, id: ChainId, number: u16) -> Option<Engagement> {
    let links = drive.chain(id).links();
    drive.chain(id).engagements(id).find_map(|(at, sprocket)| {
        let mark = sprocket.mark()?.link.get();
        let first = mark.floor();
        let next = (first + 1) % i128::from(links.get());
        let is = first == i128::from(number) || (!mark.is_whole() && next == i128::from(number));
        is.then_some(at)
    })
}

/// Where links are. A chain without coloured links is counted from the dot of the sprocket that drives
/// it, or from where it runs onto that.
struct Pins<'a> {
    layout: &'a Layout,
    links: f64,
    driver: usize,
    from: f64,
}

impl<'a> Pins<'a> {
    fn new(drive: &Drive, layout: &'a Layout, id: ChainId) -> Self {
        let driver = layout.driver();
        let dot = drive.sprocket(drive.driver_of(id)).dot();
        let entry = layout.path().contact(driver);
        Self {
            layout,
            links: drive.chain(id).links().to_exact().to_f64(),
            driver,
            from: dot.map_or_else(
                || entry.map_or(0.0, |contact| contact.entry_clock),
                |dot| dot.get().to_f64(),
            ),
        }
    }

    fn at(&self, link: f64, moved: f64) -> Option<Place> {
        self.layout.link(link, moved).or_else(|| {
            let path = self.layout.path();
            let along = (link + moved) * path.links() / self.links;
            path.place_from(self.driver, self.from, along)
        })
    }
}

/// Where the dot of a sprocket points in the timed position: as the spec says, or else at its link.
fn timed_clock(pins: &Pins<'_>, sprocket: &Sprocket, wheel: usize) -> Option<f64> {
    if let Some(dot) = sprocket.dot() {
        return Some(dot.get().to_f64());
    }
    let link: Exact = sprocket.mark()?.link.get();
    let place = pins.at(link.to_f64(), 0.0)?;
    let centre = pins.layout.path().wheels().get(wheel)?.centre;
    (place.wheel == Some(wheel)).then(|| (place.point - centre).to_clock())
}
