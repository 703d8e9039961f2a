# usage: run.py OUT BUDGET MAXTEST ids-file   (mutants on the tests that reach them; stops at DEADLINE HH:MM)
import sys,json,re,collections,os,time
sys.path.insert(0,'/tmp/mut')
from common import *
out,budget,maxt=sys.argv[1],float(sys.argv[2]),float(sys.argv[3])
dead=sys.argv[5] if len(sys.argv)>5 else '13:00'
muts={}
for l in open('/tmp/mut/list.tsv'):
    p=l.rstrip('\n').split('\t'); muts[int(p[0])]=p[1:]
drop={int(x) for x in open('/tmp/mut/drop.txt').read().split()}
sel=[int(x.split()[0]) for x in open(sys.argv[4]) if x.strip()]
done={}
if os.path.exists(out):
    for l in open(out):
        p=l.rstrip('\n').split('\t'); done[int(p[0])]=p
tests=[t for t in json.load(open('/tmp/mut/mine/reach.json')) if t['ok']]
for t in tests: t['set']=set(t['ids'])
old={int(k):v for k,v in json.load(open('/tmp/mut/mine/old.json')).items()}
kills=collections.Counter(json.load(open('/tmp/mut/kills.json')))
ran=collections.defaultdict(set)   # tests already passed with a mutant on
tf='/tmp/mut/mine/passed.tsv'
if os.path.exists(tf):
    for l in open(tf):
        p=l.rstrip('\n').split('\t'); ran[int(p[0])].add(p[1])
b_ids={int(x) for k in (1,3,4) for x in open(f'/tmp/mut/mine/ids{k}.txt').read().split()}
near=collections.Counter(); cur=None
f=open(out,'a'); g=open(tf,'a')
for n in sel:
    if time.strftime('%H:%M')>=dead: print('deadline'); break
    if n in drop: continue
    if n in done and (done[n][1]=='killed' or not os.environ.get('REDO')): continue
    file=muts[n][0]
    if file!=cur: cur=file; near.clear()
    c=[t for t in tests if n in t['set']]
    total=len(c)
    c=[t for t in c if t["cpu"]<=(maxt if t["name"]!=old.get(n,("","",""))[1] else 9) and t['name'] not in ran[n]]
    o=old.get(n,('','',''))[1]
    c.sort(key=lambda t:(t['name']!=o or bool(re.match('(ask|job_ask|ask_small|tired)::',t['name'])),bool(re.match('(ask|job_ask|ask_small|tired)::',t['name'])),-(near[t['name']]*5+min(kills[t['name']],20)*0.5+0.3)/(t['cpu']+0.02)))
    spent=0; st='survived'; by=''; k=0
    queue=list(c)
    if n in b_ids:
        head=queue[:4]; rest=queue[4:]
        bt=[]; acc=0
        for t in sorted(rest,key=lambda t:t['cpu']):
            if 'library' in t['bin'] and acc+t['cpu']<=0.9: bt.append(t); acc+=t['cpu']
        names={t['name'] for t in bt}
        queue=head+([dict(bin=bt[0]['bin'],name=[t['name'] for t in bt],cpu=sum(t['cpu'] for t in bt),wall=sum(t['wall'] for t in bt))] if bt else [])+[t for t in rest if t['name'] not in names]
    for t in queue:
        if spent>budget and not isinstance(t['name'],list): break
        if isinstance(t['name'],list):
            rc,u,w,lim=run(t['bin'],t['name'],{'MUTANT':str(n)},int(t['cpu']*5+4),t['wall']*4+20)
            spent+=u; k+=1
            if rc!=0:
                st='limit' if lim else 'killed'; by='several of the library'; break
            for x in t['name']: ran[n].add(x); g.write(f"{n}\t{x}\n")
            continue
        rc,u,w,lim=run(t['bin'],t['name'],{'MUTANT':str(n)},int(t['cpu']*5+4),t['wall']*6+20)
        spent+=u; k+=1
        if rc!=0:
            st='limit' if lim else 'killed'; by=t['name']; near[by]+=1; kills[by]+=1
            break
        ran[n].add(t['name']); g.write(f"{n}\t{t['name']}\n")
    more=total-len(ran[n])
    if st=='survived' and total==0: st='unreached'
    f.write(f"{n}\t{st}\t{by}\t{len(ran[n])}\t{more}\t{spent:.1f}\t{file}:{muts[n][1]}\t{muts[n][3]}\n"); f.flush(); g.flush()
