p='/tmp/mut/mine/doc.py'
s=open(p).read()
s=s.replace("+two+tail+after","+two+tail+'\\n'+nxt+rep+after")
s=s.replace("two=re.search","rep=re.search(r\"To repeat it: .*?\\n(?=\\n#)\",rest,re.S).group(0)\nnxt='To be done next, in this order: what is left of `timing/check.rs`, `timing/hang.rs`, `timing/evidence.rs` and `proof/`, on the tests that were not run, the simulators first; `timing/lookalike.rs`,\\n`timing/cause.rs`, `timing/roll.rs`; what is not judged; `drive/lattice*.rs`.\\n\\n'\ntwo=re.search",1)
open(p,'w').write(s)
