import subprocess,re,sys
rows=subprocess.check_output([sys.executable,'/tmp/mut/mine/table.py'],text=True).strip()
p='/work/wt/mutants/DEVELOPERS.md'
s=open(p).read()
i=s.index("### Mutants of the proof\n")
k=s.index("What was known to survive once, and by which test it is killed now:",i)
e=s.index("Run since, as at commit `353a520`",k)
tail=s[k:e].rstrip()+'\n'
rest=s[e:]
m=re.search(r"\n#{2,3} ",rest)
after=rest[m.start():] if m else ''
new=f'''### Mutants of the proof

Of the sources as at commit `f2d3a41`: comparisons, `&&`, `||`, `!`, reckoning, match arms and guards, `true` and `false` for what a condition asks besides, and each function's body replaced by plain values of its
type.

| | sites | do not compile | killed | limit | the same | left | not judged |
| --- | --- | --- | --- | --- | --- | --- | --- |
{rows}

How it was run, and what the columns say:

- Each mutant was run on the tests of `library` and `program` that reach it, one after the other, until one failed: tests of at most 1.5 s, and about 2 s of them for each mutant. The unit tests in `src/` were not run.
- *Killed*: a test failed, one of those that were there or one that was written for it. The tests that were written stand in `library/judged.rs` (single looks, with all that comes of them), `proof.rs`, `paint.rs`,
  `program/job.rs` and `job_car.rs`; those of the job were seen to fail with the mutant on.
- *Limit*: nothing but a limit of time ended it.
- *The same*: nothing that comes out is changed by it; the reasons are below.
- *Left*: no test failed in that time. Of most, tests were not run that reach them too, among them the slow simulators; it is what is left to be judged, and no list of gaps.
- *Not judged*: not run, or in an earlier run not what it was to be.
- RUNTEXT

The same:

- `proof/check.rs`, `timing/hang.rs`: `<=` for `<` at the sizes of room (five). A drive that just fills a room is judged alike in the next one.
- `proof/paint.rs`, `as_planned && …`: the second question is asked of the proof once more, of marks that are already those of the plan. There, too, the room that is made for a text.
- `proof/paint.rs`, `of_use(id) && is_marked(id)` (two): more shafts to choose from, of which none tells anything.
- `timing/evidence.rs`, `slowest <= turn` with `<`: of two shafts that turn alike either will do.
- `timing/remedy.rs`, `signum() < 0` with `<=`: no move is of zero teeth.
- `timing/check.rs`, `all_home &=`: what is not home is out of time, or forbids a proof, before this is asked. It stays, as the last of the guards.
- `timing/check.rs`, `difference < ZERO` with `<=`: what is asked there differs, so it is not zero.
- `timing/hang.rs`, `dots().is_empty()` with `false`: of no dots the work finds nothing.
- `timing/observe.rs`, `dots.is_empty()` with `false`: the first sprocket of all is then the first of those with a dot. Without the quick way of plain small letters the other one reads the same (two).
- `job/replay.rs`, `kind.single_use` with `true`: of other bolts there is no kit to use up.
STREAM

Of the rest, what was looked into and is left:

- `timing/evidence.rs`, `slowest <= turn` with `>`: where several places of a chain fit all its dots, another of them is told of a shaft that has no dot of its own. No verdict rests on it.
- `timing/observe.rs`, `dots.is_empty()` with `true`: only a shaft whose first sprocket has no mark and another one has would show it.
- `job/record.rs` and `job/replay.rs`, `look.stale.is_none() && look.resisted()` without its first half: a resistance that is itself said to be stale, after looks that are not. No command was found that writes that.
- `job/replay.rs`, `from.is_some()` with `true`: a stale look that is of no record. None was found that is.
- `job/unfit.rs`, the whole turns, a shaft without a dot and the proof by dots alone: three guards one behind the other. What was tried of looks that one of them stops was stopped by another, or was not in time.

'''
runtext=open('/tmp/mut/mine/runtext.txt').read().strip()
rep=re.search(r"To repeat it: .*?\n(?=\n#)",rest,re.S).group(0)
nxt='To be done next, in this order: what is left of `timing/check.rs`, `timing/hang.rs`, `timing/evidence.rs` and `proof/`, on the tests that were not run, the simulators first; `timing/lookalike.rs`,\n`timing/cause.rs`, `timing/roll.rs`; what is not judged; `drive/lattice*.rs`.\n\n'
two=re.search(r"Two things came of it\..*?\n\n",rest,re.S).group(0)
st=re.search(r"They change nothing:\n\n(.*?)\n\n",rest,re.S).group(1)
st='\n'.join(l for l in st.split('\n') if 'replay' not in l)
s=s[:i]+new.replace('RUNTEXT',runtext).replace('STREAM',st)+two+tail+'\n'+nxt+rep+after
open(p,'w').write(s)
