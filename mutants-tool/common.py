import os,subprocess,resource,time,signal,json
COPY='/tmp/mut/copy'
def run(binary,name,env_extra,cpu,wall):
    env=dict(os.environ); env.update(env_extra)
    for k in list(env):
        if k.startswith('NEXTEST') : env.pop(k)
    t=time.time()
    r0=resource.getrusage(resource.RUSAGE_CHILDREN)
    def pre():
        os.setpgrp(); os.nice(5)
        resource.setrlimit(resource.RLIMIT_CPU,(cpu,resource.RLIM_INFINITY))
        resource.setrlimit(resource.RLIMIT_AS,(6<<30,6<<30))
        resource.setrlimit(resource.RLIMIT_CORE,(0,0))
    p=subprocess.Popen([binary,'--exact',*([name] if isinstance(name,str) else name),'--test-threads=1'],cwd=COPY,env=env,stdin=subprocess.DEVNULL,stdout=subprocess.DEVNULL,stderr=subprocess.DEVNULL,preexec_fn=pre)
    limit=False
    try: rc=p.wait(wall)
    except subprocess.TimeoutExpired:
        limit=True; os.killpg(p.pid,signal.SIGKILL); rc=p.wait()
    r1=resource.getrusage(resource.RUSAGE_CHILDREN)
    c=(r1.ru_utime+r1.ru_stime)-(r0.ru_utime+r0.ru_stime)
    if rc in(-9,-24): limit=True
    return rc,c,time.time()-t,limit
