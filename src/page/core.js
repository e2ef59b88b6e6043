// The measuring core in its worker. Every figure on the page comes from here.
class CoreError extends Error {
  constructor(kind, sentence) {
    super(sentence);
    this.kind = kind;
  }
}

class Core {
  constructor(onProgress) {
    this.onProgress = onProgress;
    this.waiting = new Map();
    this.next = 1;
    this.given = new Map(); // photos by key, to hand them to a new worker
    const packed = atob(document.getElementById("core").textContent.trim());
    this.binary = Uint8Array.from(packed, (c) => c.charCodeAt(0));
    this.source = document.getElementById("loader").textContent;
  }

  start() {
    this.worker = new Worker(URL.createObjectURL(new Blob([this.source], { type: "text/javascript" })));
    this.worker.onmessage = ({ data }) => this.answered(data);
    this.worker.onerror = (event) => this.failAll(new CoreError("core", event.message || t("errors.core")));
    return this.ask("start", {}, this.binary.slice().buffer);
  }

  answered(data) {
    if (data.progress !== undefined) return this.onProgress(data.progress, data.step);
    const { resolve, reject } = this.waiting.get(data.id) || {};
    this.waiting.delete(data.id);
    if (data.fatal) this.broken = true;
    if (!resolve) return;
    if (data.error) reject(new CoreError(data.error.kind, data.error.kind === "refused" ? data.error.sentence : t("errors." + data.error.kind)));
    else resolve({ ...JSON.parse(data.json), bytes: data.bytes });
  }

  failAll(error) {
    for (const { reject } of this.waiting.values()) reject(error);
    this.waiting.clear();
  }

  ask(op, values = {}, bytes = null) {
    return new Promise((resolve, reject) => {
      const id = this.next++;
      this.waiting.set(id, { resolve, reject });
      this.worker.postMessage({ id, op, json: JSON.stringify(values), bytes }, bytes ? [bytes] : []);
    });
  }

  // A call after a crash starts the worker anew and hands it the photos again, but for one that it
  // died of.
  async call(op, values, bytes) {
    if (this.broken) {
      this.broken = false;
      this.worker.terminate();
      await this.start();
      for (const blob of this.given.values()) await this.ask("put", {}, await blob.arrayBuffer());
    }
    return this.ask(op, values, bytes);
  }

  // A photo's bytes; the key names it from then on. Forgotten where the core cannot show it.
  async photo(blob, side) {
    const { key } = await this.call("put", {}, await blob.arrayBuffer());
    const seen = await this.call("preview", { key, side });
    this.given.set(key, blob);
    return { key, ...seen };
  }
}
