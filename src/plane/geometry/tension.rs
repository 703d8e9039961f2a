//! Which strand is tight and which slack.

use std::fmt;

use super::path::{Path, Strand};

/// The state of a strand while the drive is driven its normal way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tension {
    /// It carries the load, so its length is fixed and links can be counted across it.
    Tight,
    /// It is held by the tensioner only, or by nothing.
    Slack,
}

/// Why the tension of the strands cannot be told: a wheel that does not suit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum TensionError {
    /// The driving wheel is not a sprocket that the chain touches.
    Driver {
        /// The wheel named.
        wheel: usize,
    },
}

impl fmt::Display for TensionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Driver { wheel } => {
                write!(
                    f,
                    "the driving wheel {wheel} is not a sprocket that the chain touches"
                )
            }
        }
    }
}

impl std::error::Error for TensionError {}

impl Path {
    /// The tension of every strand, in the order of [`Path::strands`].
    ///
    /// `driver` is the sprocket that drives this chain; `tensioners` are the wheels that are shoes of a tensioner.
    ///
    /// The rule, by stretches (all that lies between two sprockets next to each other on the chain, shoes included):
    /// the driver pulls the stretch that arrives at it, and that one pulls the sprocket before, and so on back
    /// against the travel; so every stretch is tight but two kinds. The stretch that leaves the driver is slack. And a
    /// stretch that holds a tensioner is slack wherever it lies, since the tensioner, not the sprockets, sets its length; then all that lies between the driver's exit and
    /// it is slack too, because nothing but the tensioner pulls there.
    ///
    /// # Errors
    ///
    /// [`TensionError::Driver`] when `driver` is not a sprocket that is touched.
    pub fn tensions(
        &self,
        driver: usize,
        tensioners: &[usize],
    ) -> Result<Vec<Tension>, TensionError> {
        let strands = self.strands();
        let count = strands.len();
        let toothed = |wheel: usize| {
            self.wheels()
                .get(wheel)
                .is_some_and(|wheel| wheel.teeth().is_some())
        };
        let leaves = strands
            .iter()
            .position(|strand| strand.from == driver && toothed(driver))
            .ok_or(TensionError::Driver { wheel: driver })?;

        let mut tensions = vec![Tension::Tight; count];
        // From the driver's exit in the direction of travel, stretch by stretch.
        let order = || (0..count).map(|step| (leaves + step) % count);
        let held =
            |strand: &Strand| tensioners.contains(&strand.from) || tensioners.contains(&strand.to);
        // The last strand of a tensioner counts; all before it is slack, and so is the rest of its stretch.
        let last_held = order()
            .enumerate()
            .filter(|(_, number)| held(&strands[*number]))
            .map(|(step, _)| step)
            .max();
        let mut reached = false;
        for (step, number) in order().enumerate() {
            let behind = last_held.is_some_and(|last| step <= last);
            if reached && !behind {
                break;
            }
            tensions[number] = Tension::Slack;
            reached = toothed(strands[number].to);
        }
        Ok(tensions)
    }

    /// The strands on the way from wheel `from` along the travel to wheel `to`, as places in [`Path::strands`]; empty when one of
    /// them is not touched.
    #[must_use]
    pub fn strands_between(&self, from: usize, to: usize) -> Vec<usize> {
        let strands = self.strands();
        let Some(first) = strands.iter().position(|strand| strand.from == from) else {
            return Vec::new();
        };
        let mut way = Vec::new();
        for step in 0..strands.len() {
            let number = (first + step) % strands.len();
            way.push(number);
            if strands[number].to == to {
                return way;
            }
        }
        Vec::new()
    }

    /// Free links on the way from wheel `from` along the travel to wheel `to`: strands and arcs on shoes, without what is
    /// seated on sprockets on the way. It is these that elongation lengthens. 0 when one of them is not touched.
    #[must_use]
    pub fn free_links(&self, from: usize, to: usize) -> f64 {
        self.strands_between(from, to)
            .into_iter()
            .enumerate()
            .map(|(step, number)| {
                let strand = &self.strands()[number];
                let shoe = match self.contact(strand.from) {
                    Some(contact) if step > 0 && self.wheels()[strand.from].teeth().is_none() => {
                        contact.links
                    }
                    _ => 0.0,
                };
                shoe + strand.links
            })
            .sum()
    }
}
