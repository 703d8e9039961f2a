//! A spec as the second YAML reader sees it, typed here and not in `src/`.

use serde::Deserialize;
use serde_yaml::{Mapping, Value};
use tautmark::units::Exact;

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct Written {
    pub(crate) tautmark: u32,
    pub(crate) engine: String,
    pub(crate) crank_turns: String,
    pub(crate) timed_position: Option<String>,
    pub(crate) camshafts: Option<usize>,
    shafts: Mapping,
    chains: Mapping,
    pub(crate) cylinders: Option<WrittenCylinders>,
    #[serde(default)]
    pub(crate) valves: Mapping,
    pub(crate) tools: Option<Value>,
    pub(crate) parts: Option<Mapping>,
    pub(crate) fasteners: Option<Mapping>,
    pub(crate) steps: Option<Vec<Mapping>>,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenCylinders {
    pub(crate) bore: Option<Value>,
    pub(crate) stroke: Value,
    pub(crate) rod: Value,
    pub(crate) compression: Value,
    pub(crate) deck: Option<Value>,
    pub(crate) gasket: Option<Value>,
    pub(crate) firing_order: Vec<i64>,
    pub(crate) offsets: Option<Vec<Value>>,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenShaft {
    pub(crate) kind: String,
    pub(crate) at: Option<[Value; 2]>,
    pub(crate) phaser: Option<WrittenPhaser>,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenPhaser {
    pub(crate) range: Value,
    pub(crate) parked: String,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenChain {
    pub(crate) kind: Option<String>,
    pub(crate) links: usize,
    pub(crate) pitch: Option<Value>,
    pub(crate) elongation_limit: Option<Value>,
    pub(crate) path: Vec<WrittenPart>,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(untagged)]
pub(crate) enum WrittenPart {
    Sprocket(WrittenSprocket),
    Tensioner(WrittenTensioner),
    Guide(WrittenGuide),
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenSprocket {
    pub(crate) sprocket: String,
    pub(crate) teeth: usize,
    pub(crate) dot: Option<Value>,
    pub(crate) link: Option<usize>,
    pub(crate) links: Option<[usize; 2]>,
    pub(crate) colour: Option<String>,
    #[serde(default)]
    pub(crate) outside: bool,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenTensioner {
    pub(crate) tensioner: [Value; 2],
    pub(crate) radius: Value,
    #[serde(default)]
    pub(crate) outside: bool,
    pub(crate) pushes: Value,
    pub(crate) stroke: Value,
}

#[derive(Deserialize, Debug, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenGuide {
    pub(crate) guide: [Value; 2],
    pub(crate) radius: Value,
    #[serde(default)]
    pub(crate) outside: bool,
}

impl Written {
    pub(crate) fn read(text: &str) -> Self {
        serde_yaml::from_str(text).unwrap()
    }

    pub(crate) fn shafts(&self) -> Vec<(String, WrittenShaft)> {
        named(&self.shafts)
    }

    pub(crate) fn chains(&self) -> Vec<(String, WrittenChain)> {
        named(&self.chains)
    }
}

impl WrittenChain {
    pub(crate) fn sprockets(&self) -> Vec<WrittenSprocket> {
        let only = |part: &WrittenPart| match part {
            WrittenPart::Sprocket(sprocket) => Some(sprocket.clone()),
            _ => None,
        };
        self.path.iter().filter_map(only).collect()
    }
}

/// Entries in the order of the file.
fn named<T: for<'a> Deserialize<'a>>(entries: &Mapping) -> Vec<(String, T)> {
    entries
        .iter()
        .map(|(name, value)| {
            let name = name.as_str().unwrap().to_owned();
            (name, serde_yaml::from_value(value.clone()).unwrap())
        })
        .collect()
}

/// A number of the file. The second reader keeps decimals as the nearest floating-point number and
/// writes the shortest decimal that gives it back, which is the decimal of the file.
pub(crate) fn number(value: &Value) -> Exact {
    let text = match value {
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.clone(),
        other => panic!("not a number: {other:?}"),
    };
    text.parse()
        .unwrap_or_else(|error| panic!("{text}: {error}"))
}
