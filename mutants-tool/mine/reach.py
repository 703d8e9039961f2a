import sys,os,subprocess,json,re
sys.path.insert(0,'/tmp/mut')
from common import *
bins=json.load(open('/tmp/mut/mine/bins.json'))
D='/tmp/mut/mine/reachd'; os.makedirs(D,exist_ok=True)
mp={int(k):v for k,v in json.load(open('/tmp/mut/mine/map.json')).items()}
old={t['name']:t for t in json.load(open('/tmp/mut/reach.json'))}
res=[];i=0
for b in bins:
    kind='program' if 'program' in b else 'library'
    out=subprocess.run([b,'--list','--format','terse'],cwd=COPY,capture_output=True,text=True).stdout
    for l in out.splitlines():
        if not l.endswith(': test'): continue
        n=l[:-6]
        if n in old and kind in old[n]['bin'] and not re.match(r'(judged|proof|paint|job|job_car|record)::',n):
            t=dict(old[n]); t['bin']=b; t['ids']=[mp[x] for x in t['ids'] if x in mp]; res.append(t); continue
        if n not in old and not re.match(r'(judged|proof|paint|job|job_car|record|tired|roll|explain|lookalikes|what_follows|safe_moves)::',n): print('not taken',n); continue
        i+=1; f=f'{D}/{kind}{i}'
        if os.path.exists(f): os.remove(f)
        rc,c,w,lim=run(b,n,{'MUTANT':'0','MUTANT_REACH':f},60,200)
        ids=sorted({int(x) for x in open(f)}) if os.path.exists(f) else []
        res.append(dict(bin=b,name=n,ok=rc==0,cpu=c,wall=w,ids=ids))
        if rc!=0: print('fails',n,rc,c)
json.dump(res,open('/tmp/mut/mine/reach.json','w'))
print(len(res),'tests',i,'measured',sum(r['ok'] for r in res),'ok')
