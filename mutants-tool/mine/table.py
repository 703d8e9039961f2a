import collections,json
drop={int(x) for x in open('/tmp/mut/drop.txt').read().split()}
aff={int(x) for x in open('/tmp/mut/affected.txt').read().split()}
mp={int(k):v for k,v in json.load(open('/tmp/mut/mine/map.json')).items()}
M=[l.rstrip('\n').split('\t') for l in open('/tmp/mut/list.tsv')]
res={}
for f in('job','timing','stream'):
    for l in open(f'/tmp/mut/mine/res_{f}.tsv'):
        p=l.rstrip('\n').split('\t'); n=mp.get(int(p[0]))
        if n and n not in aff: res[n]=p[1]
for f,ok in(('p2_job','killed'),('newk','True'),('tryk','True')):
    for l in open(f'/tmp/mut/mine/{f}.tsv'):
        p=l.split('\t'); n=mp.get(int(p[0]))
        if p[1].strip()==ok and n not in aff: res[n]='killed'
for n in (693,695,696,703,705,706,739,740,345,347,351,353,355,356,145,262,193,1155): res[mp[n]]='killed'
for n in (200,1150,1169,1284,1291,1293): res[mp[n]]='equiv'
plain={m[0]:m for m in M if m[1]=='src/stream/plain.rs'}
for i in plain:
    n=int(i)
    if res.get(n)=='survived' and n not in (mp[1242],mp[1244]): res[n]='equiv'
for l in open('/tmp/mut/mine/res.tsv'):
    p=l.rstrip('\n').split('\t'); n=int(p[0])
    if p[1]=='killed' or res.get(n)!='killed' or n in aff: res[n]=p[1]
byhand=[234,1382,1387,1391,1871,1942,135,136,137,159,120,122,163,164,169,127,128,197,203,270,274,275,276,280,287,211,212,353,355,239,243,247,294,295,296,297,302,304,319,322,329,389,392,47,123,121]
for n in byhand: res[n]='killed'
equiv=json.load(open('/tmp/mut/mine/equiv.json'))
for n in equiv: res[n]='equiv'
T=collections.OrderedDict(); left=[]
for m in M:
    n=int(m[0]); c=T.setdefault(m[1],collections.Counter()); c['sites']+=1
    if n in drop: c['no']+=1; continue
    r=res.get(n)
    if r is None: c['open']+=1
    elif r in('survived','unreached'): c['left']+=1; left.append((n,m[1],m[2],m[4]))
    else: c[r]+=1
if __name__=='__main__':
    import sys
    order=['proof/check','proof/mesh','proof/counted','proof/paint','timing/evidence','timing/hang','timing/observe','timing/check','timing/remedy']
    fs=[f'src/{x}.rs' for x in order]+[f for f in T if f[4:-3] not in order]
    tot=collections.Counter()
    rows=[]
    for f in fs:
        c=T[f]; tot.update(c)
        rows.append(f"| `{f[4:]}` | {c['sites']} | {c['no']} | {c['killed']} | {c['limit']} | {c['equiv']} | {c['left']} | {c['open']} |")
    c=tot; rows.append(f"| together | {c['sites']} | {c['no']} | {c['killed']} | {c['limit']} | {c['equiv']} | {c['left']} | {c['open']} |")
    print('\n'.join(rows))
    if len(sys.argv)>1:
        for x in left: print(*x)
