import sys,json,collections,time
sys.path.insert(0,'/tmp/mut')
from common import *
T={t['name']:t for t in json.load(open('reach.json'))}
c=collections.Counter(l.split('\t')[2] for l in open('res.tsv'))
t0=time.time(); bad=[];k=0
for n,x in c.most_common():
    if n not in T: continue
    if time.time()-t0>80: break
    t=T[n]; rc,u,w,lim=run(t['bin'],n,{'MUTANT':'3999'},int(t['cpu']*5+4),t['wall']*6+20); k+=1
    if rc: bad.append((n,x,rc))
print(len(c),'killers',k,'checked; kills',sum(c.values()),'bad',bad)
