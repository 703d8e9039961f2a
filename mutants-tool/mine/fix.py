p='/tmp/mut/mine/doc.py'
s=open(p).read()
s=s.replace('''- `stream.rs`, `stream/`: the quick way of a line leaves it to the other one, and sizes of room.
''','''STREAM
''')
s=s.replace("s=s[:i]+new.replace('RUNTEXT',runtext)+tail+after",'''two=re.search(r"Two things came of it\\..*?\\n\\n",rest,re.S).group(0)
st=re.search(r"They change nothing:\\n\\n(.*?)\\n\\n",rest,re.S).group(1)
st='\\n'.join(l for l in st.split('\\n') if 'replay' not in l)
s=s[:i]+new.replace('RUNTEXT',runtext).replace('STREAM',st)+two+tail+after''')
open(p,'w').write(s)
