import sys,os,subprocess,json,glob
from common import *
from concurrent.futures import ProcessPoolExecutor
bins=json.load(open('/tmp/mut/bins.json'))
def one(a):
    b,n,i=a
    f=f'/tmp/mut/reach/{i}'
    if os.path.exists(f): os.remove(f)
    rc,c,w,l=run(b,n,{'MUTANT':'0','MUTANT_REACH':f},120,180)
    ids=sorted({int(x) for x in open(f)}) if os.path.exists(f) else []
    return dict(bin=b,name=n,ok=rc==0,cpu=c,wall=w,ids=ids)
if __name__=='__main__':
    os.makedirs('/tmp/mut/reach',exist_ok=True)
    todo=[]
    for b in bins:
        out=subprocess.run([b,'--list','--format','terse'],cwd=COPY,capture_output=True,text=True).stdout
        for l in out.splitlines():
            if l.endswith(': test'): todo.append((b,l[:-6],len(todo)))
    with ProcessPoolExecutor(int(sys.argv[1])) as ex:
        res=list(ex.map(one,todo))
    json.dump(res,open('/tmp/mut/reach.json','w'))
    print(len(res),'tests',sum(r['ok'] for r in res),'ok, cpu',sum(r['cpu'] for r in res))
    for r in res:
        if not r['ok']: print('fails',r['name'])
    for r in sorted(res,key=lambda r:-r['cpu'])[:25]: print(round(r['cpu'],2),r['name'],len(r['ids']))
