//! A drive made of arrays that are moved one step at a time. Slow and obvious: no ratio, no product,
//! no remainder; whatever is known here was found by moving things and looking.
//!
//! The places along a chain's loop stand still; the chain's links lie in them and move on. A shaft
//! is a ring of places around it, in one of which its dot stands; place 0 is where that dot belongs
//! in the timed position. Links and teeth are divided into so many fine steps that one fine step
//! forward is the same for everything that hangs together.

use super::fraction::Fraction;
use super::written::Written;

#[derive(Clone)]
pub(crate) struct Simulator {
    chains: Vec<LoopOfLinks>,
    shafts: Vec<Ring>,
    sprockets: Vec<Meeting>,
    crank: usize,
}

#[derive(Clone)]
struct LoopOfLinks {
    /// Which fine piece of the chain lies in each place.
    places: Vec<usize>,
    /// Fine steps to a link.
    fine: usize,
}

#[derive(Clone)]
struct Ring {
    /// Where the dot stands.
    dot: Vec<bool>,
    marked: bool,
    timed: bool,
}

/// A sprocket on a chain.
#[derive(Clone, Copy)]
pub(crate) struct Meeting {
    pub(crate) chain: usize,
    pub(crate) shaft: usize,
    /// Its place among the sprockets of its chain.
    pub(crate) on_chain: usize,
    teeth: usize,
    /// The place on the chain's loop where its dot belongs.
    place: Option<usize>,
}

impl Simulator {
    pub(crate) fn new(written: &Written) -> Self {
        let shafts = written.shafts();
        let chains = written.chains();
        let mut sprockets = Vec::new();
        let mut half_places = Vec::new();
        let mut marked = vec![false; shafts.len()];
        for (chain, (_, hung)) in chains.iter().enumerate() {
            for (on_chain, sprocket) in hung.sprockets().iter().enumerate() {
                let shaft = shafts
                    .iter()
                    .position(|(name, _)| *name == sprocket.sprocket)
                    .unwrap();
                // In half links: between two links is one half past the first of them.
                let half_place = match (sprocket.link, sprocket.links) {
                    (Some(link), _) => Some(link + link),
                    (None, Some([first, _])) => Some(first + first + 1),
                    (None, None) => None,
                };
                marked[shaft] |= half_place.is_some() || sprocket.dot.is_some();
                half_places.push(half_place);
                sprockets.push(Meeting {
                    chain,
                    shaft,
                    on_chain,
                    teeth: sprocket.teeth,
                    place: None,
                });
            }
        }
        let fine = fine_steps(&sprockets, chains.len());
        for (meeting, half) in sprockets.iter_mut().zip(half_places) {
            let half_link = fine[meeting.chain] / 2;
            meeting.place = half.map(|half| half * half_link);
        }
        let rings = shafts
            .iter()
            .enumerate()
            .map(|(id, (_, shaft))| {
                let meeting = sprockets.iter().find(|m| m.shaft == id).unwrap();
                let mut dot = vec![false; meeting.teeth * fine[meeting.chain]];
                dot[0] = true;
                Ring {
                    dot,
                    marked: marked[id],
                    timed: match shaft.kind.as_str() {
                        "camshaft" | "balance" => true,
                        "pump" => marked[id],
                        _ => false,
                    },
                }
            })
            .collect();
        Self {
            chains: chains
                .iter()
                .zip(&fine)
                .map(|((_, chain), fine)| LoopOfLinks {
                    places: (0..chain.links * fine).collect(),
                    fine: *fine,
                })
                .collect(),
            shafts: rings,
            sprockets,
            crank: shafts
                .iter()
                .position(|(_, shaft)| shaft.kind == "crankshaft")
                .unwrap(),
        }
    }

    pub(crate) fn sprockets(&self) -> Vec<Meeting> {
        self.sprockets.clone()
    }

    pub(crate) fn shaft_count(&self) -> usize {
        self.shafts.len()
    }

    pub(crate) fn is_marked(&self, shaft: usize) -> bool {
        self.shafts[shaft].marked
    }

    /// Moves the whole engine one fine step in its normal direction.
    pub(crate) fn step(&mut self) {
        for chain in &mut self.chains {
            chain.places.rotate_right(1);
        }
        for shaft in &mut self.shafts {
            shaft.dot.rotate_right(1);
        }
    }

    /// Moves the whole engine one fine step back.
    pub(crate) fn step_back(&mut self) {
        for chain in &mut self.chains {
            chain.places.rotate_left(1);
        }
        for shaft in &mut self.shafts {
            shaft.dot.rotate_left(1);
        }
    }

    /// Numbers the links of a chain from another one on, that many links further along.
    pub(crate) fn number_from(&mut self, chain: usize, links: usize) {
        let chain = &mut self.chains[chain];
        for _ in 0..links * chain.fine {
            chain.places.rotate_right(1);
        }
    }

    /// Turns the crankshaft until its dot is where it was.
    pub(crate) fn turn_once(&mut self) {
        let before = self.shafts[self.crank].dot.clone();
        self.step();
        while self.shafts[self.crank].dot != before {
            self.step();
        }
    }

    /// Lets a sprocket jump on its chain, ahead if `teeth` is above zero. The crankshaft stands
    /// still: whatever hangs on the other side of the jump moves.
    pub(crate) fn slip(&mut self, sprocket: usize, teeth: i32) {
        let at = self.sprockets[sprocket];
        let mut with_sprocket = self.hangs_on_shaft(at.shaft, sprocket);
        let crank_moves = with_sprocket.1[self.crank];
        let ahead = (teeth > 0) != crank_moves;
        if crank_moves {
            with_sprocket
                .0
                .iter_mut()
                .for_each(|moves| *moves = !*moves);
            with_sprocket
                .1
                .iter_mut()
                .for_each(|moves| *moves = !*moves);
        }
        for _ in 0..teeth.unsigned_abs() {
            for _ in 0..self.chains[at.chain].fine {
                self.shift(&with_sprocket, ahead);
            }
        }
    }

    /// Chains and shafts that move with `shaft` while the sprocket `lifted` is out of its chain.
    fn hangs_on_shaft(&self, shaft: usize, lifted: usize) -> (Vec<bool>, Vec<bool>) {
        let mut chains = vec![false; self.chains.len()];
        let mut shafts = vec![false; self.shafts.len()];
        shafts[shaft] = true;
        loop {
            let before = (chains.clone(), shafts.clone());
            for (i, meeting) in self.sprockets.iter().enumerate() {
                if i != lifted && (chains[meeting.chain] || shafts[meeting.shaft]) {
                    chains[meeting.chain] = true;
                    shafts[meeting.shaft] = true;
                }
            }
            if before == (chains.clone(), shafts.clone()) {
                assert!(
                    !chains[self.sprockets[lifted].chain],
                    "in a closed loop one sprocket cannot jump alone"
                );
                return before;
            }
        }
    }

    fn shift(&mut self, which: &(Vec<bool>, Vec<bool>), ahead: bool) {
        let moving_chains = self.chains.iter_mut().zip(&which.0);
        let moving_shafts = self.shafts.iter_mut().zip(&which.1);
        for chain in moving_chains.filter_map(|(chain, moves)| moves.then_some(chain)) {
            if ahead {
                chain.places.rotate_right(1);
            } else {
                chain.places.rotate_left(1);
            }
        }
        for shaft in moving_shafts.filter_map(|(shaft, moves)| moves.then_some(shaft)) {
            if ahead {
                shaft.dot.rotate_right(1);
            } else {
                shaft.dot.rotate_left(1);
            }
        }
    }

    /// Is the dot of that shaft where it belongs?
    pub(crate) fn is_home(&self, shaft: usize) -> bool {
        self.shafts[shaft].dot[0]
    }

    /// Is every dot that can be seen where it belongs?
    pub(crate) fn all_home(&self) -> bool {
        (0..self.shafts.len()).all(|id| !self.is_marked(id) || self.is_home(id))
    }

    /// Would every dot that must be in time be where it belongs, if only the crankshaft were turned
    /// once more?
    pub(crate) fn timed_home_a_turn_on(&self) -> bool {
        let mut on = self.clone();
        on.turn_once();
        on.shafts
            .iter()
            .all(|shaft| !(shaft.timed && shaft.marked) || shaft.dot[0])
    }

    /// Is every dot that must be in time where it belongs?
    pub(crate) fn timed_home(&self) -> bool {
        self.shafts
            .iter()
            .all(|shaft| !(shaft.timed && shaft.marked) || shaft.dot[0])
    }

    /// Fine steps by which the shaft is ahead of home (below zero: behind), the shorter way: found
    /// by turning it home.
    pub(crate) fn steps_ahead(&self, shaft: usize) -> i64 {
        let (mut back, mut forth) = (
            self.shafts[shaft].dot.clone(),
            self.shafts[shaft].dot.clone(),
        );
        let mut steps = 0;
        loop {
            if back[0] {
                return steps;
            }
            if forth[0] {
                return -steps;
            }
            back.rotate_left(1);
            forth.rotate_right(1);
            steps += 1;
        }
    }

    /// Fine steps to a whole turn of that shaft.
    pub(crate) fn steps_around(&self, shaft: usize) -> i64 {
        i64::try_from(self.shafts[shaft].dot.len()).unwrap()
    }

    pub(crate) fn crank_steps_around(&self) -> i64 {
        self.steps_around(self.crank)
    }

    /// Fine steps to a tooth of that sprocket.
    pub(crate) fn steps_to_a_tooth(&self, sprocket: usize) -> i64 {
        i64::try_from(self.chains[self.sprockets[sprocket].chain].fine).unwrap()
    }

    /// Lays a chain on its place inside out, about its link 0.
    pub(crate) fn turn_inside_out(&mut self, chain: usize) {
        let places = &mut self.chains[chain].places;
        places.reverse();
        places.rotate_right(1);
    }

    /// Is that chain where it was in the timed position?
    pub(crate) fn chain_is_home(&self, chain: usize) -> bool {
        self.chains[chain].places[0] == 0
    }

    /// The link that lies so many teeth past the place on the loop where the dot of that sprocket
    /// belongs.
    pub(crate) fn link_past(&self, sprocket: usize, teeth: i64) -> Fraction {
        let at = self.sprockets[sprocket];
        let chain = &self.chains[at.chain];
        let mut looking = chain.places.clone();
        looking.rotate_left(at.place.expect("a sprocket with a mark"));
        for _ in 0..teeth.unsigned_abs() {
            for _ in 0..chain.fine {
                if teeth > 0 {
                    looking.rotate_left(1);
                } else {
                    looking.rotate_right(1);
                }
            }
        }
        Fraction::new(looking[0] as i128, chain.fine as i128)
    }

    /// The link on the dot of that sprocket, if its dot belongs on a link at all.
    pub(crate) fn link_on_dot(&self, sprocket: usize) -> Option<Fraction> {
        let at = self.sprockets[sprocket];
        let chain = &self.chains[at.chain];
        let mut looking = chain.places.clone();
        looking.rotate_left(at.place?);
        // From where the dot belongs along to where it stands.
        let mut steps = self.steps_ahead(at.shaft);
        while steps != 0 {
            if steps > 0 {
                looking.rotate_left(1);
                steps -= 1;
            } else {
                looking.rotate_right(1);
                steps += 1;
            }
        }
        Some(Fraction::new(looking[0] as i128, chain.fine as i128))
    }
}

/// Fine steps to a link for every chain, such that all sprockets of a shaft have as many fine steps
/// around: the one with the fewest gets finer until they agree. Two at least, for half links.
fn fine_steps(sprockets: &[Meeting], chains: usize) -> Vec<usize> {
    let mut fine = vec![2; chains];
    loop {
        let steps = |m: &Meeting, fine: &[usize]| m.teeth * fine[m.chain];
        let fewer = sprockets.iter().find(|m| {
            sprockets
                .iter()
                .any(|other| other.shaft == m.shaft && steps(m, &fine) < steps(other, &fine))
        });
        let Some(fewer) = fewer else { return fine };
        fine[fewer.chain] += 2;
        assert!(fine[fewer.chain] < 10_000, "too fine to simulate");
    }
}
