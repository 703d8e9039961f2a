// Answers kept in the browser, written at each one. Nothing leaves the machine.
const Store = (() => {
  // A browser that does not answer must not hold anybody up.
  const PATIENCE = 4000;
  const ASIDE = /\n\d{13}$/;
  let opened = null;
  const open = () => {
    opened ??= new Promise((done, fail) => {
      const asked = indexedDB.open("tautmark", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("drafts");
      asked.onsuccess = () => {
        // A browser may throw its store away while the page is open.
        asked.result.onclose = () => { opened = null; };
        done(asked.result);
      };
      asked.onerror = () => fail(asked.error);
      asked.onblocked = () => fail(new Error("the store is held by another window"));
      setTimeout(() => fail(new Error("the browser's store does not answer")), PATIENCE);
    });
    // What failed once may go well the next time.
    opened.catch(() => { opened = null; });
    return opened;
  };
  const doing = async (mode, work) => {
    const store = await open();
    return new Promise((done, fail) => {
      const transaction = store.transaction("drafts", mode);
      let result;
      let reason = null;
      const stop = (error) => {
        reason = error;
        transaction.abort();
      };
      work(transaction.objectStore("drafts"), (value) => { result = value; }, stop);
      transaction.oncomplete = () => done(result);
      transaction.onabort = transaction.onerror = () => fail(reason || transaction.error || new Error("it was broken off"));
    });
  };
  const get = (key) => doing("readonly", (drafts, give) => {
    drafts.get(key).onsuccess = (event) => give(event.target.result);
  });
  // Two windows at one draft would each write over what the other has kept: it is written only over the one that is known,
  // by the mark that it got when it was written.
  const put = (key, value, before) => doing("readwrite", (drafts, give, stop) => {
    drafts.get(key).onsuccess = (event) => {
      const there = event.target.result ? event.target.result.mark : null;
      if (there !== before) return stop(new Error("another window has gone on with these answers"));
      try {
        drafts.put(value, key);
      } catch (error) {
        stop(error);
      }
    };
  });
  // A draft that is not gone on with is kept under another name.
  const setAside = (key) => doing("readwrite", (drafts) => {
    drafts.get(key).onsuccess = (event) => {
      if (event.target.result) drafts.put(event.target.result, `${key}\n${Date.now()}`);
      drafts.delete(key);
    };
  });
  const remove = (key) => doing("readwrite", (drafts) => drafts.delete(key));
  // All drafts whose key is so, the newest first, each with its key.
  const all = async (is) => {
    const found = [];
    await doing("readonly", (drafts) => {
      drafts.openCursor().onsuccess = (event) => {
        const cursor = event.target.result;
        if (!cursor) return;
        if (is(cursor.key)) found.push({ ...cursor.value, key: cursor.key });
        cursor.continue();
      };
    });
    return found.sort((one, other) => other.at - one.at);
  };
  // What was set aside of this spec.
  const aside = (key) => all((other) => other.startsWith(`${key}\n`) && ASIDE.test(other.slice(key.length)));
  // Drafts of a file of that name in which something else stood.
  const alike = (name, key) => all((other) => other.startsWith(`${name}\n`) && other !== key && !ASIDE.test(other));
  return { get, put, setAside, remove, aside, alike };
})();
