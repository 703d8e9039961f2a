//! Wear of the chains.

use crate::drive::model::Drive;
use crate::plane::wear::{ChainWear, Elongation, Wear, WearLimit, WearVerdict};
use crate::render::words::cautions::CAUTIONS;
use crate::units::quantity::Exact;
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct WearJson<'a> {
    verdict: &'static str,
    chains: Vec<ChainJson<'a>>,
    shafts: Vec<ShaftJson<'a>>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct ChainJson<'a> {
    chain: &'a str,
    verdict: &'static str,
    elongation: ElongationJson,
    limit: LimitJson,
    tensioner: Option<TensionerJson>,
    unknown: Option<String>,
}

/// What was given is exact; what was measured at the tensioner is an estimate.
#[derive(Serialize)]
#[serde(untagged)]
enum ElongationJson {
    Exact(Exact),
    Estimate(f64),
}

#[derive(Serialize)]
#[serde(untagged)]
enum LimitJson {
    Spec {
        by: &'static str,
        elongation: Exact,
    },
    Published {
        by: &'static str,
        elongation: Exact,
        general: Exact,
        source: &'static str,
    },
}

#[derive(Serialize)]
struct TensionerJson {
    new_mm: f64,
    worn_mm: Option<f64>,
    stroke_mm: f64,
    within_stroke: bool,
}

#[derive(Serialize)]
struct ShaftJson<'a> {
    shaft: &'a str,
    retard_crank_degrees: Option<f64>,
    retard_crank_degrees_by_path: Option<f64>,
    ripple_crank_degrees: Option<f64>,
}

/// Wear as JSON. Estimates are numbers, exact values are strings `"p/q"`.
pub fn wear_json(drive: &Drive, wear: &Wear) -> Value {
    json!(WearJson {
        verdict: word(wear.verdict()),
        chains: wear.chains.iter().map(|each| chain(drive, each)).collect(),
        shafts: wear
            .shafts
            .iter()
            .map(|shaft| ShaftJson {
                shaft: drive.shaft(shaft.shaft).name(),
                retard_crank_degrees: shaft.retard,
                retard_crank_degrees_by_path: shaft.retard_by_path,
                ripple_crank_degrees: shaft.ripple,
            })
            .collect(),
        cautions: CAUTIONS,
    })
}

fn chain<'a>(drive: &'a Drive, chain: &ChainWear) -> ChainJson<'a> {
    ChainJson {
        chain: drive.chain(chain.chain).name(),
        verdict: word(chain.verdict),
        elongation: match chain.elongation {
            Elongation::Exact(exact) => ElongationJson::Exact(exact),
            Elongation::Estimate(estimate) => ElongationJson::Estimate(estimate),
        },
        limit: match chain.limit {
            WearLimit::Spec(limit) => LimitJson::Spec {
                by: "spec",
                elongation: limit,
            },
            WearLimit::Published {
                smooth, general, ..
            } => LimitJson::Published {
                by: "published guidance (an estimate)",
                elongation: smooth,
                general,
                source: WearLimit::SOURCE,
            },
        },
        tensioner: chain.tensioner.map(|at| TensionerJson {
            new_mm: at.new,
            worn_mm: at.worn,
            stroke_mm: at.stroke,
            within_stroke: at.within_stroke(),
        }),
        unknown: chain.unknown.as_ref().map(ToString::to_string),
    }
}

fn word(verdict: WearVerdict) -> &'static str {
    match verdict {
        WearVerdict::Within => "within limit",
        WearVerdict::NotProven => "not proven",
        WearVerdict::Beyond => "beyond limit",
    }
}
