import json
res={int(k):v for k,v in json.load(open('/tmp/mut/mine/old.json')).items()}
aff={int(x) for x in open('/tmp/mut/affected.txt').read().split()}
drop={int(x) for x in open('/tmp/mut/drop.txt').read().split()}
M=[l.rstrip('\n').split('\t') for l in open('/tmp/mut/list.tsv')]
J=['job/record','job/replay','job/gates','job/look','job/unfit','job/history','job/said']
N=['timing/check','timing/hang','timing/observe','proof/check','proof/counted','proof/mesh','proof/paint','timing/evidence','timing/remedy']
def ids(fs,f): 
    return [int(m[0]) for x in fs for m in M if m[1]==f'src/{x}.rs' and int(m[0]) not in drop and f(int(m[0]))]
good=lambda n: n in res and res[n][0]=='killed' and n not in aff
seq=[ids(J,lambda n:not good(n)),ids(N,lambda n:True),ids(J,good),ids(['timing/lookalike'],lambda n:not good(n)),ids(['timing/lookalike'],good)]
for k,s in enumerate(seq):
    open(f'/tmp/mut/mine/ids{k}.txt','w').write('\n'.join(map(str,s))+'\n'); print(k,len(s))
