// Answers kept in the browser, written at each one. Nothing leaves the machine.
const Store = (() => {
  let opened = null;
  const open = () => {
    opened ??= new Promise((done, fail) => {
      const asked = indexedDB.open("tautmark", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("drafts");
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
      asked.onblocked = () => fail(new Error("the store is held by another window"));
    });
    return opened;
  };
  const doing = async (mode, work) => {
    const store = await open();
    return new Promise((done, fail) => {
      const transaction = store.transaction("drafts", mode);
      let result;
      work(transaction.objectStore("drafts"), (value) => { result = value; }, transaction);
      transaction.oncomplete = () => done(result);
      transaction.onabort = transaction.onerror = () => fail(transaction.error || new Error("another window has gone on with it"));
    });
  };
  const get = (key) => doing("readonly", (drafts, give) => {
    drafts.get(key).onsuccess = (event) => give(event.target.result);
  });
  // Two windows at one draft would each write over what the other has kept: it is written only over `before`.
  const put = (key, value, before) => doing("readwrite", (drafts, give, transaction) => {
    drafts.get(key).onsuccess = (event) => {
      const there = event.target.result ? event.target.result.record : null;
      if (there !== before) transaction.abort();
      else drafts.put(value, key);
    };
  });
  // A draft that is not gone on with is kept under another name.
  const setAside = (key) => doing("readwrite", (drafts) => {
    drafts.get(key).onsuccess = (event) => {
      if (event.target.result) drafts.put(event.target.result, `${key}\n${Date.now()}`);
      drafts.delete(key);
    };
  });
  return { get, put, setAside };
})();
