//! Where an interview stops, a screen shows one line on top and one thing to do. Neither may say anything else than
//! the whole text does: whoever is in a hurry reads no further.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use tautmark::{
    Drive, Seen, Source,
    job::{Answer, Interview, Reply, Said, Step, View},
    render::{PlainWords, halt_text, interview_json},
    timing::name_of,
    units::{Exact, Teeth, Turns},
};

/// Chance that is the same every time: Knuth's multiplier (value from memory), its upper bits.
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

#[test]
fn what_stands_on_top_is_what_the_text_says() {
    let mut chance = Chance(7);
    let (mut halts, mut moving, mut denied_moves) = (0, 0, 0);
    let mut engines: Vec<_> = std::fs::read_dir("engines")
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    engines.sort();
    for path in engines {
        let source = Source::new("spec.yaml", std::fs::read(&path).unwrap()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        for _ in 0..25 {
            let mut interview = Interview::new(&drive, "spec.yaml").unwrap();
            for _ in 0..120 {
                let step = interview.step();
                if matches!(step, Step::Ask(_)) && interview.view().is_none() {
                    interview.see_from(View::facing());
                }
                let reply = match step {
                    Step::Ready(_) | Step::Confirm(_) => Reply::Ready,
                    Step::Felt => Reply::Felt(Some(Turns::new(Exact::ONE))),
                    Step::Say(..) => Reply::Said(chance.below(12) != 0),
                    Step::Ask(_) => Reply::Answer(match chance.below(14) {
                        0 => Answer::NotSeen,
                        1 => Answer::Seen(Seen::Teeth(Teeth::whole(-1))),
                        2 => Answer::Seen(Seen::Teeth(Teeth::whole(2))),
                        _ => Answer::Seen(Seen::Teeth(Teeth::ZERO)),
                    }),
                    Step::Done => break,
                    Step::Halt(stage) => {
                        halts += 1;
                        let text = halt_text(&interview, stage, &PlainWords, false).unwrap();
                        let shown = interview_json(&interview, &PlainWords).unwrap();
                        let headline = shown["headline"].as_str().unwrap();
                        assert!(
                            text.lines().any(|line| line == headline),
                            "{headline}\n{text}"
                        );
                        let denied = |what| interview.sayings(stage).contains(&(what, false));
                        let wrong_side = denied(Said::FacingEnd) || denied(Said::TurnedFree);
                        denied_moves += u32::from(wrong_side);
                        if let Some(action) = shown["action"].as_str() {
                            assert!(text.contains(action), "{action}\n{text}");
                            // Its own first line: nothing else comes before it.
                            let next = text.lines().find(|line| line.starts_with("Next"));
                            assert!(
                                wrong_side || next.is_none_or(|next| next == action),
                                "{text}"
                            );
                        }
                        // What is ringed is told to be moved, and nothing is where the looks may be the wrong way round.
                        if let Some(at) = shown["look_at"].as_u64() {
                            moving += 1;
                            assert!(!wrong_side && headline.starts_with("OUT OF TIME"), "{text}");
                            let at = usize::try_from(at).unwrap();
                            let name = name_of(&drive, drive.engagements().nth(at).unwrap().0);
                            let told = |line: &str| {
                                let step = line.trim().split_once(". ");
                                step.is_some_and(|(_, step)| step.starts_with(&format!("{name}:")))
                            };
                            assert!(text.lines().any(told), "{name}\n{text}");
                        }
                        Reply::Again
                    }
                };
                if interview.reply(reply).is_err() {
                    break;
                }
            }
        }
    }
    assert!(halts > 200 && moving > 50, "{halts} {moving}");
    assert!(denied_moves > 5, "{denied_moves}");
}
