import json,subprocess,re,os,sys
env=dict(os.environ,CARGO_PROFILE_DEV_DEBUG="0",CARGO_PROFILE_TEST_DEBUG="0",CARGO_PROFILE_RELEASE_LTO="off")
os.chdir('/tmp/mut')
for rnd in range(30):
    subprocess.check_call(['bash','gen.sh'])
    p=subprocess.run(['nice','-n','5','cargo','check','--lib','--message-format=json','-p','tautmark'],cwd='copy',env=env,capture_output=True)
    drops=set(); unmapped=[]
    for line in p.stdout.splitlines():
        try: m=json.loads(line)
        except: continue
        if m.get('reason')!='compiler-message': continue
        m=m['message']
        if m['level'] not in('error',): continue
        got=None
        spans=[s for s in m['spans'] if s['is_primary']]+[s for s in m['spans'] if not s['is_primary']]
        for s in spans:
            f='copy/'+s['file_name']
            if not os.path.exists(f): continue
            data=open(f,'rb').read()
            at,at2=s['byte_start'],s['byte_end']
            # innermost alternative
            best=None
            for mm in re.finditer(rb'/\*<(\d+)\*/',data):
                if mm.start()>at2: break
                e=data.find(b'/*'+mm.group(1)+b'>*/',mm.end())
                if mm.start()<=at and at2<=e+8: 
                    best={int(mm.group(1))}
            if best is None:
                for mm in re.finditer(rb'/\*\[([\d,]+)\*/',data):
                    if mm.start()>at2: break
                    e=data.find(b'/*'+mm.group(1)+b']*/',mm.end())
                    if mm.start()<=at2 and at<=e+8:
                        if best is None or True: best={int(x) for x in mm.group(1).split(b',')}
            if best: got=best; break
        if got: drops|=got; 'Default' in m['message'] or print('drop',sorted(got),m['message'][:110], s['file_name'], s['line_start'])
        elif m['message'].startswith('aborting'): pass
        else: unmapped.append(m.get('rendered','')[:600])
    old=set(open('drop.txt').read().split())
    new={str(d) for d in drops}-old
    print('round',rnd,'rc',p.returncode,'new drops',len(new),'unmapped',len(unmapped),flush=True)
    for u in unmapped[:5]: print(u)
    if p.returncode==0: break
    if not new: print(p.stderr.decode()[-2000:]); break
    open('drop.txt','a').write('\n'.join(sorted(new))+'\n')
