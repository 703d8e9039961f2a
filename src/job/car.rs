//! The car that a job is about.

/// What is known of a car. Two engines of one kind are told apart by it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Car {
    /// The order number.
    pub order: Option<String>,
    /// The number plate.
    pub plate: Option<String>,
    /// The number on its engine.
    pub engine_number: Option<String>,
    /// Its mileage, with its unit. It tells no car from another.
    pub mileage: Option<String>,
}

impl Car {
    /// Is anything known by which it can be told from another one?
    pub fn is_known(&self) -> bool {
        self.marks().iter().any(Option::is_some)
    }

    /// Is it surely the same one: is something known of both, and nothing at odds?
    pub fn is(&self, other: &Self) -> bool {
        let both = self.marks().into_iter().zip(other.marks());
        let known: Vec<_> = both.filter_map(|(own, other)| own.zip(other)).collect();
        !known.is_empty() && known.iter().all(|(own, other)| own == other)
    }

    fn marks(&self) -> [Option<String>; 3] {
        // A plate is typed in many ways.
        [&self.order, &self.plate, &self.engine_number].map(|mark| {
            mark.as_ref().map(|text| {
                let kept = text.chars().filter(|c| c.is_alphanumeric());
                kept.flat_map(char::to_uppercase).collect()
            })
        })
    }

    /// Everything known of it, each with its name.
    pub(super) fn texts(&self) -> impl Iterator<Item = &String> {
        [&self.order, &self.plate, &self.engine_number, &self.mileage]
            .into_iter()
            .flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn car(order: &str, plate: &str) -> Car {
        let known = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Car {
            order: known(order),
            plate: known(plate),
            ..Car::default()
        }
    }

    #[test]
    fn a_car_is_the_same_only_where_something_agrees_and_nothing_differs() {
        for (one, other, same) in [
            (car("A-17", ""), car("a 17", ""), true),
            (car("A-17", ""), car("A-18", ""), false),
            (car("A-17", "K 1"), car("A-17", "K 2"), false),
            (car("A-17", "K 1"), car("", "k1"), true),
            (car("A-17", ""), car("", "K 1"), false),
            (car("", ""), car("", ""), false),
        ] {
            assert_eq!(one.is(&other), same, "{one:?} {other:?}");
        }
        assert!(!car("", "").is_known());
        let driven = Car {
            mileage: Some("9 km".to_owned()),
            ..Car::default()
        };
        assert!(!driven.is_known());
    }
}
