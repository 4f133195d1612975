// Questions to the server. The key comes in the address's fragment at the start
// and is kept for this origin, so that a reload and a second tab have it too.

const KEPT = "bench-key";

const given = new URLSearchParams(location.hash.slice(1)).get("key");
if (given) {
  localStorage.setItem(KEPT, given);
  history.replaceState(null, "", location.pathname + location.search);
}

export class Refused extends Error {
  constructor(status, answer) {
    super(answer?.error?.what ?? answer?.text ?? `status ${status}`);
    this.status = status;
    this.what = this.message;
    // Options of the command line mean nothing here.
    this.advice = (answer?.error?.advice ?? "").replace(/ \(--[\w-]+\)/g, "");
    this.key = answer?.error?.key ?? null;
    this.conflict = answer?.conflict ?? null;
  }
}

const PATIENCE = 60000; // ms after which a question counts as not answered

// Milliseconds the server worked on the last answer, for the curious and the tests.
export const timing = { work: 0, whole: 0 };

async function send(action, body, query = "") {
  const began = performance.now();
  const reply = await fetch(`/api/${action}${query}`, {
    method: "POST", body, cache: "no-store", credentials: "omit", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
    headers: { "x-bench-key": localStorage.getItem(KEPT) ?? "" },
  });
  timing.whole = performance.now() - began;
  timing.work = Number(/dur=([\d.]+)/.exec(reply.headers.get("server-timing") ?? "")?.[1] ?? 0);
  if (reply.ok) return reply;
  const text = await reply.text();
  let answer;
  try { answer = JSON.parse(text); } catch { answer = { text }; }
  throw new Refused(reply.status, answer);
}

// Asks and reads the JSON answer. A busy bench is asked again.
export async function ask(action, question = {}) {
  for (let tries = 0; ; tries += 1) {
    try {
      return await (await send(action, JSON.stringify(question))).json();
    } catch (error) {
      if (error.status !== 503 || tries >= 5) throw error;
      await new Promise((go) => setTimeout(go, 300 * (tries + 1)));
    }
  }
}

// Sends a drawing.
export async function give(action, file, more = {}) {
  const query = new URLSearchParams({ ...more, name: file.name }).toString().replaceAll("+", "%20");
  return (await send(action, file, `?${query}`)).json();
}

// Fetches a file: its name and its bytes.
export async function fetchFile(question) {
  const reply = await send("file", JSON.stringify(question));
  return { name: decodeURIComponent(reply.headers.get("x-file-name") ?? "file"), blob: await reply.blob() };
}
