// Checks this page's machine part in the reader's own browser. Nothing is loaded, nothing is sent.
// The steps and their codes are those of the published format; each function names its source.
"use strict";
(() => {
  const ENTRY = "continuity-entry/1\n";
  const REGISTER = "register";
  const INDEX = "case-index";
  const MOST = 100;
  const encoder = new TextEncoder();

  class Wrong extends Error {}
  const refuse = (sentence) => {
    throw new Wrong(sentence);
  };

  // ---- bytes -------------------------------------------------------------------------------

  const bytes = (text) => encoder.encode(text);
  const join = (...parts) => {
    const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
    let at = 0;
    for (const part of parts) {
      whole.set(part, at);
      at += part.length;
    }
    return whole;
  };
  const same = (a, b) => a.length === b.length && a.every((byte, at) => byte === b[at]);
  const hex = (data) => Array.from(data, (byte) => byte.toString(16).padStart(2, "0")).join("");
  const unhex = (text) => Uint8Array.from(text.match(/../g) || [], (pair) => parseInt(pair, 16));
  const base64 = (data) => btoa(Array.from(data, (byte) => String.fromCharCode(byte)).join(""));
  // RFC 4648 section 3.5: one spelling only, so what is read is written again and compared.
  const unbase64 = (text) => {
    let raw = "";
    try {
      raw = atob(text);
    } catch {
      refuse("a text is not base64");
    }
    if (btoa(raw) !== text) refuse("a text is not base64 in its canonical form");
    return Uint8Array.from(raw, (character) => character.charCodeAt(0));
  };
  const sha256 = async (...parts) =>
    new Uint8Array(await crypto.subtle.digest("SHA-256", join(...parts)));

  // ---- canonical JSON: RFC 8785, without floats ----------------------------------------------

  const wellFormed = (text) =>
    !/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/.test(text);

  const canonical = (value, levels = 32) => {
    if (value === null || typeof value === "boolean") return String(value);
    if (typeof value === "number") {
      if (!Number.isSafeInteger(value) || Object.is(value, -0)) refuse("a number is no integer");
      return String(value);
    }
    if (typeof value === "string") {
      if (!wellFormed(value)) refuse("a text holds a lone surrogate");
      return JSON.stringify(value);
    }
    if (!levels) refuse("the JSON is nested too deeply");
    if (Array.isArray(value)) {
      return "[" + value.map((one) => canonical(one, levels - 1)).join(",") + "]";
    }
    const names = Object.keys(value).sort(); // by UTF-16 code unit, as the RFC asks
    const pairs = names.map((name) => {
      if (!wellFormed(name)) refuse("a name holds a lone surrogate");
      return JSON.stringify(name) + ":" + canonical(value[name], levels - 1);
    });
    return "{" + pairs.join(",") + "}";
  };

  const parse = (text) => {
    try {
      return JSON.parse(text);
    } catch {
      return refuse("the JSON cannot be read");
    }
  };

  // A doubled name, a float or another spelling does not come out as it went in.
  const readCanonical = (text) => {
    const value = parse(text);
    if (canonical(value) !== text) refuse("the JSON is not in canonical form");
    if (!isObject(value)) refuse("the JSON is not an object");
    return value;
  };

  const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);
  const isCount = (value) => Number.isSafeInteger(value) && value >= 0;
  const isHash = (value) => typeof value === "string" && /^[0-9a-f]{64}$/.test(value);
  const hasNames = (value, names) =>
    isObject(value) && Object.keys(value).sort().join(" ") === names;

  // ---- signed notes: C2SP signed-note v1.0.0 -------------------------------------------------

  const SPACE = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]/;

  const checkName = (name) => {
    if (!name || SPACE.test(name) || name.includes("+") || /[\x00-\x1f]/.test(name)) {
      refuse("a key's name is empty, or holds a space, a plus sign or a control character");
    }
    if (bytes(name).length > 255) refuse("a key's name is too long");
    return name;
  };

  const readNote = (text) => {
    if (bytes(text).length > 1000000) refuse("the note is too long");
    if (/[\x00-\x09\x0b-\x1f]/.test(text)) refuse("the note holds a control character");
    const end = text.lastIndexOf("\n\n");
    if (end < 0 || !text.endsWith("\n")) refuse("the note has no signature lines");
    const lines = text.slice(end + 2, -1).split("\n");
    if (lines.length > 100) refuse("the note has too many signature lines");
    return { text: text.slice(0, end + 1), lines: lines.map(readLine) };
  };

  const readLine = (line) => {
    if (!line.startsWith("\u2014 ")) refuse("a signature line does not begin with an em dash");
    const rest = line.slice(2);
    const gap = rest.indexOf(" ");
    const data = unbase64(gap < 0 ? "" : rest.slice(gap + 1));
    if (data.length <= 4) refuse("a signature line holds no signature");
    const name = checkName(gap < 0 ? rest : rest.slice(0, gap));
    const id = hex(data.slice(0, 4));
    return { name, id, reference: name + "+" + id, blob: data.slice(4) };
  };

  // ---- Ed25519 keys and their texts ----------------------------------------------------------

  // Points whose order divides 8: under such a key one signature fits many messages.
  const SMALL = new Set([
    "00".repeat(32),
    "01" + "00".repeat(31),
    "ec" + "ff".repeat(30) + "7f",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "ed" + "ff".repeat(30) + "7f",
    "ee" + "ff".repeat(30) + "7f",
  ]);

  const readKey = async (text, type = 1) => {
    const [name, id, ...rest] = text.split("+");
    if (rest.length === 0) refuse("a key's text is incomplete");
    const data = unbase64(rest.join("+"));
    if (data[0] !== type || data.length !== 33) refuse("a key is not of the known type");
    checkName(name);
    const raw = data.slice(1);
    const unsigned = raw.slice();
    unsigned[31] &= 0x7f;
    if (SMALL.has(hex(unsigned))) refuse("a key is a point of small order");
    const own = hex((await sha256(bytes(name + "\n"), data)).slice(0, 4));
    if (own !== id) refuse("a key's text claims an id that is not its own");
    return { name, id, raw, reference: name + "+" + id, text };
  };

  let canSign = false; // whether this browser knows Ed25519
  const probe = async () => {
    // RFC 8032 section 7.1, test 1: the browser must accept it, and refuse it when it is changed.
    const raw = unhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a");
    const signature = unhex(
      "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555f" +
        "b8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    );
    try {
      const good = await fits({ raw }, new Uint8Array(0), signature);
      const bad = await fits({ raw }, bytes("x"), signature);
      canSign = good && !bad;
    } catch {
      canSign = false;
    }
  };

  const imported = new Map();
  const fits = async (key, message, signature) => {
    if (signature.length !== 64) return false;
    const name = hex(key.raw);
    if (!imported.has(name)) {
      imported.set(
        name,
        await crypto.subtle.importKey("raw", key.raw, { name: "Ed25519" }, false, ["verify"]),
      );
    }
    return crypto.subtle.verify({ name: "Ed25519" }, imported.get(name), signature, message);
  };
  const signed = (key, message, signature) => (canSign ? fits(key, message, signature) : true);

  // ---- entries and chains --------------------------------------------------------------------

  const FIELDS =
    "case details kind number occurred_at previous recorded_at recorded_by register signers " +
    "utc_offset";
  const ID =
    /^[^\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000\x00-\x1f\x7f]{1,255}$/u;
  const FORMS = {
    case: ID,
    kind: /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/,
    recorded_by: ID,
    register: ID,
    utc_offset: /^[+-](?:[01][0-9]|2[0-3]):[0-5][0-9]$/,
  };

  const isTime = (text) => {
    if (typeof text !== "string" || !/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/.test(text)) {
      return false;
    }
    const time = new Date(text);
    return text >= "0001" && !Number.isNaN(time.getTime()) && time.toISOString() === text;
  };

  const readEntry = (noteText) => {
    if (bytes(noteText).length > 65535) refuse("the entry is too long");
    const note = readNote(noteText);
    if (!note.text.startsWith(ENTRY)) refuse("its first line is not that of an entry");
    const body = readCanonical(note.text.slice(ENTRY.length, -1));
    const names = Object.keys(body).filter((name) => name !== "seen" && name !== "mirrors");
    if (names.sort().join(" ") !== FIELDS) refuse("it lacks fields, or has others");
    for (const [name, form] of Object.entries(FORMS)) {
      if (typeof body[name] !== "string" || !form.test(body[name])) refuse(name + " is misshapen");
    }
    if (!isTime(body.occurred_at) || !isTime(body.recorded_at)) refuse("it has no sound times");
    if (!isCount(body.number) || !isObject(body.details)) refuse("number or details are misshapen");
    if (!isHash(body.previous)) refuse("previous is misshapen");
    if ("mirrors" in body && !isHash(body.mirrors)) refuse("mirrors is misshapen");
    if ("seen" in body) checkSeenForm(body.seen);
    const signers = body.signers;
    if (!Array.isArray(signers) || !signers.length || new Set(signers).size !== signers.length) {
      refuse("signers is misshapen");
    }
    const lines = note.lines.map((line) => line.reference);
    if (canonical(lines) !== canonical(signers)) refuse("it is not signed by the keys it declares");
    return { ...body, note };
  };

  const checkSeenForm = (seen) => {
    if (!hasNames(seen, "root size") || !isCount(seen.size) || typeof seen.root !== "string") {
      refuse("seen is misshapen");
    }
    if (unbase64(seen.root).length !== 32) refuse("seen is misshapen");
  };

  const leafHash = (data) => sha256(Uint8Array.of(0), data);
  const nodeHash = (left, right) => sha256(Uint8Array.of(1), left, right);
  const genesis = (register, chain) =>
    sha256(bytes("continuity-genesis/1\n" + register + "\n" + chain + "\n"));

  // ---- the tree: RFC 9162 section 2.1 --------------------------------------------------------

  const odd = (n) => n % 2 === 1;
  const half = (n) => Math.floor(n / 2);

  const inclusionRoot = async (leaf, index, size, proof) => {
    if (index >= size) refuse("there is no such leaf");
    let [node, last, found] = [index, size - 1, leaf];
    for (const sibling of proof) {
      if (!last) refuse("the proof is longer than the tree is high");
      if (odd(node) || node === last) {
        found = await nodeHash(sibling, found);
        while (!odd(node) && node) [node, last] = [half(node), half(last)];
      } else {
        found = await nodeHash(found, sibling);
      }
      [node, last] = [half(node), half(last)];
    }
    if (last) refuse("the proof is shorter than the tree is high");
    return found;
  };

  const checkInclusion = async (leaf, index, size, proof, root) => {
    if (!same(await inclusionRoot(leaf, index, size, proof), root)) {
      refuse("the proof does not lead to the root");
    }
  };

  const checkGrowth = async (first, second, proof, firstRoot, secondRoot) => {
    if (first > second) refuse("the tree became smaller");
    if (first === 0 || first === second) {
      if (proof.length) refuse("the proof must be empty");
      if (first === second && !same(firstRoot, secondRoot)) refuse("the roots differ");
      if (!first && !same(firstRoot, await sha256())) refuse("the root of nothing is another");
      return;
    }
    if (!proof.length) refuse("the proof is empty");
    const whole = Number.isInteger(Math.log2(first)) ? [firstRoot, ...proof] : proof;
    let [node, last] = [first - 1, second - 1];
    while (odd(node)) [node, last] = [half(node), half(last)];
    let [before, after] = [whole[0], whole[0]];
    for (const sibling of whole.slice(1)) {
      if (!last) refuse("the proof is too long");
      if (odd(node) || node === last) {
        before = await nodeHash(sibling, before);
        after = await nodeHash(sibling, after);
        while (!odd(node) && node) [node, last] = [half(node), half(last)];
      } else {
        after = await nodeHash(after, sibling);
      }
      [node, last] = [half(node), half(last)];
    }
    if (last || !same(before, firstRoot) || !same(after, secondRoot)) refuse("the trees differ");
  };

  // ---- checkpoints: C2SP tlog-checkpoint and tlog-cosignature v1.0 ---------------------------

  const readCheckpoint = (noteText) => {
    const note = readNote(noteText);
    const lines = note.text.split("\n");
    if (lines.length !== 4 || lines[3] || !lines[0]) refuse("it is not three lines");
    if (!/^(?:0|[1-9][0-9]{0,18})$/.test(lines[1])) refuse("its size is no number");
    const size = Number(lines[1]);
    const root = unbase64(lines[2]);
    if (!Number.isSafeInteger(size) || root.length !== 32) refuse("its size or root is misshapen");
    return { origin: lines[0], size, root, note };
  };

  const cosignedAt = async (note, key) => {
    for (const line of note.lines) {
      if (line.name !== key.name || line.id !== key.id) continue;
      if (line.blob.length !== 72) refuse("a cosignature is misshapen");
      const time = Number(new DataView(line.blob.buffer, line.blob.byteOffset, 8).getBigUint64(0));
      const text = bytes("cosignature/v1\ntime " + time + "\n" + note.text);
      if (!(await signed(key, text, line.blob.slice(8)))) refuse("a cosignature does not fit");
      return time;
    }
    return null;
  };

  // ---- keys by position, from the register's own chain ---------------------------------------

  const KEY_KINDS = ["register-started", "key-enrolled", "key-replaced", "key-revoked"];
  const ROLES = ["director", "mortician", "assistant", "auditor", "station", "witness"];

  class Keyring {
    constructor() {
      this.enrolments = new Map();
      this.position = -1;
    }

    valid(reference, position) {
      const held = this.enrolments.get(reference);
      const good = held && held.since <= position && (held.until === null || position <= held.until);
      return good ? held : null;
    }

    async introduced(entry) {
      const names = {
        "register-started": ["register_key", "key"],
        "key-enrolled": ["key"],
        "key-replaced": ["key"],
      }[entry.kind];
      const keys = new Map();
      if (entry.case !== REGISTER || !names) return keys;
      for (const name of names) {
        const key = await this.key(entry, name);
        keys.set(key.reference, key);
      }
      return keys;
    }

    async key(entry, name) {
      return readKey(this.text(entry, name));
    }

    text(entry, name) {
      const value = entry.details[name];
      if (typeof value !== "string" || !value) refuse("it does not say " + name);
      return value;
    }

    person(entry) {
      const person = this.text(entry, "person");
      if (person === REGISTER) refuse("it enrols a person under the register's own id");
      return person;
    }

    async apply(position, entry) {
      if (position <= this.position) refuse("the entry stands before one already read");
      if (!this.enrolments.size && entry.kind !== "register-started") {
        refuse("the register's own chain does not begin with its start");
      }
      const fresh = await this.introduced(entry);
      for (const reference of entry.signers) {
        if (!this.valid(reference, position) && !fresh.has(reference)) {
          refuse("a key that is not valid here signed it");
        }
      }
      if (entry.kind === "register-started") await this.start(position, entry);
      if (entry.kind === "key-enrolled") await this.enrol(position, entry);
      if (entry.kind === "key-replaced") await this.replace(position, entry);
      if (entry.kind === "key-revoked") this.revoke(position, entry);
      this.position = position;
    }

    hold(key, person, role, since, until = null, suspect = null) {
      this.enrolments.set(key.reference, { key, person, role, since, until, suspect });
    }

    async start(position, entry) {
      if (position || entry.number || this.enrolments.size) refuse("the register has begun already");
      const own = await this.key(entry, "register_key");
      const key = await this.key(entry, "key");
      const both = [own.reference, key.reference].sort().join(" ");
      if ([...entry.signers].sort().join(" ") !== both) refuse("its start lacks a signature");
      if (this.text(entry, "role") !== "director") refuse("the first key is no director's");
      if (same(own.raw, key.raw) || own.name === key.name) refuse("two holders share a key or name");
      this.hold(key, this.person(entry), "director", position);
      this.hold(own, REGISTER, REGISTER, position);
    }

    async enrol(position, entry) {
      const key = await this.key(entry, "key");
      const person = this.person(entry);
      const role = this.text(entry, "role");
      if (!ROLES.includes(role)) refuse("it enrols a key for what is no role");
      this.possession(key, entry);
      this.director(position, entry);
      this.fresh(key, person);
      this.hold(key, person, role, position);
    }

    async replace(position, entry) {
      const key = await this.key(entry, "key");
      const old = this.enrolments.get(this.text(entry, "replaces"));
      if (!old || old.until !== null) refuse("it replaces a key that is not valid");
      this.possession(key, entry);
      if (!entry.signers.includes(old.key.reference)) this.director(position, entry);
      this.fresh(key, old.person);
      old.until = position;
      this.hold(key, old.person, old.role, position);
    }

    revoke(position, entry) {
      const old = this.enrolments.get(this.text(entry, "key"));
      this.text(entry, "reason");
      if (!old) refuse("it revokes a key that was never enrolled");
      this.director(position, entry);
      const vital = old.role === "director" || old.role === REGISTER;
      const others = [...this.enrolments.values()].some(
        (one) => one !== old && one.role === old.role && one.until === null,
      );
      if (old.until === null && vital && !others) refuse("it revokes the last key of its role");
      const since = entry.details.compromised_since ?? null;
      if (since !== null && !(isCount(since) && old.since <= since && since <= position)) {
        refuse("it doubts a key from a position it was not valid at");
      }
      if (old.until === null) old.until = position;
      if (since !== null) old.suspect = old.suspect === null ? since : Math.min(old.suspect, since);
    }

    possession(key, entry) {
      if (!entry.signers.includes(key.reference)) refuse("the new key did not sign it");
    }

    director(position, entry) {
      const found = entry.signers.some((one) => this.valid(one, position)?.role === "director");
      if (!found) refuse("it changes keys without a director's signature");
    }

    fresh(key, person) {
      for (const other of this.enrolments.values()) {
        if (same(other.key.raw, key.raw) || other.key.reference === key.reference) {
          refuse("it enrols a key that was enrolled before");
        }
        if (other.key.name === key.name && other.person !== person) {
          refuse("it gives one person's key name to another");
        }
      }
    }
  }

  // ---- personal details: RFC 9901 ------------------------------------------------------------

  const readDisclosure = (text) => {
    if (text.length > 16384 || !/^[A-Za-z0-9_-]+$/.test(text)) return null;
    try {
      const padded = text.replaceAll("-", "+").replaceAll("_", "/");
      const data = unbase64(padded + "=".repeat((4 - (padded.length % 4)) % 4));
      const parts = parse(new TextDecoder("utf-8", { fatal: true }).decode(data));
      const texts = Array.isArray(parts) && parts.every((p) => typeof p === "string");
      if (!texts || parts.length !== 3 || parts[0].length < 22) return null;
      if (parts[1] === "_sd" || parts[1] === "..." || !parts.every(wellFormed)) return null;
      return { name: parts[1], value: parts[2] };
    } catch {
      return null;
    }
  };

  const digestOf = async (text) =>
    base64(await sha256(bytes(text)))
      .replaceAll("+", "-")
      .replaceAll("/", "_")
      .replaceAll("=", "");

  const personalOf = (entry) => {
    const personal = entry.details.personal;
    if (!isObject(personal)) return new Map();
    return new Map(Object.entries(personal).filter(([, digest]) => typeof digest === "string"));
  };

  const erasedIn = (entries) => {
    const erased = new Map();
    const fieldsOf = new Map(); // the details not erased yet, found from either side
    const numbersOf = new Map();
    const list = (value) =>
      Array.isArray(value) ? value.filter((v) => typeof v === "string" || isCount(v)) : [];
    const add = (map, key, value) => {
      if (!map.has(key)) map.set(key, new Set());
      map.get(key).add(value);
    };
    const drop = (map, key, value) => {
      map.get(key).delete(value);
      if (!map.get(key).size) map.delete(key);
    };
    const gone = (numbers, names) =>
      numbers.size
        ? [...numbers].flatMap((number) =>
            [...(fieldsOf.get(number) || [])]
              .filter((name) => !names.size || names.has(name))
              .map((name) => [number, name]),
          )
        : [...(names.size ? names : numbersOf.keys())].flatMap((name) =>
            [...(numbersOf.get(name) || [])].map((number) => [number, name]),
          );
    for (const entry of entries) {
      if (entry.kind === "personal-details-erased") {
        const numbers = new Set(list(entry.details.entries));
        for (const [number, name] of gone(numbers, new Set(list(entry.details.fields)))) {
          erased.set(number + " " + name, entry.number);
          drop(fieldsOf, number, name);
          drop(numbersOf, name, number);
        }
      }
      for (const name of personalOf(entry).keys()) {
        add(fieldsOf, entry.number, name);
        add(numbersOf, name, entry.number);
      }
    }
    return erased;
  };

  // ---- the machine part's shape --------------------------------------------------------------

  const readProof = (value) => {
    if (!Array.isArray(value) || value.length > 63) refuse("a proof is misshapen");
    return value.map((text) => {
      if (typeof text !== "string") refuse("a proof is misshapen");
      const found = unbase64(text);
      if (found.length !== 32) refuse("a hash in a proof is not 32 bytes long");
      return found;
    });
  };

  const readPlaced = (value) => {
    if (!hasNames(value, "note position proof") || typeof value.note !== "string") {
      refuse("an entry is misshapen");
    }
    if (!isCount(value.position)) refuse("a position is misshapen");
    const proof = value.proof === null ? null : readProof(value.proof);
    return { position: value.position, text: value.note, data: bytes(value.note), proof };
  };

  const readWord = (value) => {
    if (!hasNames(value, "bucket_size index_path length path position")) refuse("index: misshapen");
    if (![value.length, value.position, value.bucket_size].every(isCount)) {
      refuse("a count in the index is misshapen");
    }
    return { ...value, path: readProof(value.path), index_path: readProof(value.index_path) };
  };

  const readIndex = (value) => {
    if (value === null) return null;
    if (!hasNames(value, "case entry register")) refuse("index: misshapen");
    const word = value.case === null ? null : readWord(value.case);
    return { entry: readPlaced(value.entry), case: word, register: readWord(value.register) };
  };

  const DOSSIER =
    "attestations case checkpoint disclosures earlier entries format index made_at made_with " +
    "register register_entries withheld";

  // What is listed beside the entries: all its names, and which of them is a count, which a text.
  const LISTED = {
    disclosures: ["disclosure entry", "entry", "disclosure"],
    earlier: ["proof size", "size", null],
    withheld: ["entry field", "entry", "field"],
  };

  const readDossier = (text) => {
    const value = parse(text);
    if (!isObject(value)) refuse("it is no object");
    if (canonical(value).replaceAll("<", "\\u003c") !== text) refuse("it is not in canonical form");
    if (value.format !== "continuity-dossier/1") refuse("it is of a version unknown to this page");
    if (!hasNames(value, DOSSIER)) refuse("it lacks fields, or has others");
    for (const name of ["made_at", "made_with", "register", "case"]) {
      if (typeof value[name] !== "string") refuse(name + " is misshapen");
    }
    if (value.checkpoint !== null && typeof value.checkpoint !== "string") {
      refuse("checkpoint is misshapen");
    }
    for (const name of ["attestations", "entries", "register_entries", ...Object.keys(LISTED)]) {
      if (!Array.isArray(value[name])) refuse(name + " is no list");
    }
    for (const [name, [fields, count, text]] of Object.entries(LISTED)) {
      const fits = (one) =>
        hasNames(one, fields) && isCount(one[count]) && (!text || typeof one[text] === "string");
      if (!value[name].every(fits)) refuse(name + " is misshapen");
    }
    for (const one of value.attestations) {
      const texts = hasNames(one, "blob kind") && [one.blob, one.kind];
      if (!texts || !texts.every((t) => typeof t === "string")) refuse("an attestation is misshapen");
      unbase64(one.blob);
    }
    return {
      ...value,
      entries: value.entries.map(readPlaced),
      register_entries: value.register_entries.map(readPlaced),
      index: readIndex(value.index),
      earlier: new Map(value.earlier.map((one) => [one.size, readProof(one.proof)])),
    };
  };

  // ---- the check itself ----------------------------------------------------------------------

  const check = async (dossier, pins, witnesses) => {
    const report = { findings: [], more: 0, entries: [], house: [], proved: 0, completeTo: null };
    const keyring = new Keyring();
    Object.assign(report, { keyring, checkpoint: null, pinned: false, cosigned: [] });
    const add = (code, sentence, chain = null, number = null) => {
      if (report.findings.length < MOST) report.findings.push({ code, sentence, chain, number });
      else report.more += 1;
    };
    const attempt = async (code, chain, number, work) => {
      try {
        await work();
        return true;
      } catch (error) {
        if (!(error instanceof Wrong)) throw error;
        add(code, error.message, chain, number);
        return false;
      }
    };

    const checkpoint = await openCheckpoint(dossier, attempt);
    checkPositions(dossier, add);

    const follow = async function* (placed, chain) {
      let head = hex(await genesis(dossier.register, chain));
      for (const [number, one] of placed.entries()) {
        let entry = null;
        const read = () => (entry = readEntry(one.text));
        if (!(await attempt(unread(one), chain, number, read))) return;
        if (entry.register !== dossier.register) {
          add("wrong-register", "It is of another register.", chain, number);
          return;
        }
        if (entry.case !== chain || entry.number !== number || entry.previous !== head) {
          add("chain-broken", "It does not follow the entry before it.", chain, number);
          return;
        }
        const leaf = await leafHash(one.data);
        head = hex(leaf);
        yield { one, entry, leaf };
      }
    };

    const checkSigned = async ({ one, entry }) => {
      let fresh = null;
      const read = async () => (fresh = await keyring.introduced(entry));
      if (!(await attempt("keys-broken", entry.case, entry.number, read))) return false;
      const keys = [];
      for (const reference of entry.signers) {
        const held = keyring.valid(reference, one.position);
        const key = held ? held.key : fresh.get(reference);
        if (!key) {
          const sentence = reference + " signed, and is not valid at position " + one.position;
          add("key-not-valid", sentence, entry.case, entry.number);
          return false;
        }
        const known = keyring.enrolments.get(reference);
        if (known && known.suspect !== null && known.suspect <= one.position) {
          add("key-suspect", reference + " was declared compromised", entry.case, entry.number);
        }
        keys.push(key);
      }
      const message = bytes(entry.note.text);
      for (const [at, key] of keys.entries()) {
        if (!(await signed(key, message, entry.note.lines[at].blob))) {
          const sentence = "The signature of " + key.reference + " does not fit.";
          add("signature-wrong", sentence, entry.case, entry.number);
          return false;
        }
      }
      return true;
    };

    const checkPersons = ({ entry }) => {
      const held = entry.signers.map((one) => keyring.enrolments.get(one));
      const persons = held.map((one) => one?.person);
      const directors = held.filter((one) => one?.role === "director").map((one) => one.person);
      if (entry.kind === "register-restored" && new Set(directors).size < 2) {
        add("second-person-missing", "It needs two directors.", entry.case, entry.number);
      }
      if (!persons.includes(entry.recorded_by)) {
        const sentence = entry.recorded_by + " recorded it, and signed with no key.";
        add("recorder-differs", sentence, entry.case, entry.number);
      }
    };

    const isIncluded = async ({ one, entry, leaf }) => {
      const covered = checkpoint && one.position < checkpoint.size;
      if (!covered && one.proof === null) return false;
      return attempt("not-in-the-tree", entry.case, entry.number, async () => {
        if (!checkpoint || one.proof === null) refuse("Nothing shows it in the tree.");
        await checkInclusion(leaf, one.position, checkpoint.size, one.proof, checkpoint.root);
      });
    };

    for await (const step of follow(dossier.register_entries, REGISTER)) {
      const { one, entry } = step;
      if (!(await checkSigned(step))) break;
      const apply = () => keyring.apply(one.position, entry);
      if (!(await attempt("keys-broken", entry.case, entry.number, apply))) break;
      if (KEY_KINDS.includes(entry.kind) || one.proof !== null) await isIncluded(step);
      checkPersons(step);
      report.house.push(step);
    }
    if (!dossier.register_entries.length) add("keys-broken", "The register's chain is missing.");

    const known =
      report.house.length > 0 && report.house.length === dossier.register_entries.length;
    const own = [...keyring.enrolments.values()].filter((one) => one.role === REGISTER);
    report.registerKeys = own;
    if (pins.length && known) {
      const held = (pin) => own.some(({ key }) => key.name === pin.name && same(key.raw, pin.raw));
      report.pinned = pins.some(held);
      if (!report.pinned) {
        add("not-the-pinned-key", "The key you gave never was the one of this register.");
      }
    }

    if (checkpoint && known) {
      const good = await attempt("checkpoint-signature", null, null, async () => {
        const at = checkpoint.size - 1;
        const keys = own.filter((o) => o.since <= at && (o.until === null || at <= o.until));
        let found = 0;
        for (const line of checkpoint.note.lines) {
          const held = keys.find(({ key }) => key.name === line.name && key.id === line.id);
          if (!held) continue;
          if (!(await signed(held.key, bytes(checkpoint.note.text), line.blob))) {
            refuse("The register's signature on the checkpoint does not fit.");
          }
          found += 1;
        }
        if (!found) refuse("No key of the register signed the checkpoint.");
      });
      if (good) report.checkpoint = checkpoint;
      for (const key of witnesses) {
        await attempt("cosignature-wrong", null, null, async () => {
          const time = await cosignedAt(checkpoint.note, key);
          if (time !== null) report.cosigned.push({ name: key.name, time });
        });
      }
    }

    for await (const step of follow(dossier.entries, dossier.case)) {
      if (known && (await checkSigned(step))) checkPersons(step);
      if (await isIncluded(step)) report.proved += 1;
      report.entries.push(step);
    }
    report.known = known;
    report.followed = report.entries.length === dossier.entries.length;
    if (!dossier.entries.length) add("beyond-index", "The dossier holds no entry of the case.");

    if (dossier.index && dossier.checkpoint === null) {
      add("index-differs", "It shows a case index, and no checkpoint above it.", INDEX);
    }
    if (checkpoint && dossier.index) {
      const step = await readIndexEntry(dossier, checkpoint, attempt);
      const good = step && (!known || (await checkSigned(step)));
      if (good && known) checkPersons(step);
      if (good) await checkChains(dossier, step, report, add, attempt);
    }
    if (checkpoint) await checkSeen(dossier, checkpoint, report, add);
    await checkDetails(dossier, report, add);
    return report;
  };

  const unread = (one) => {
    const other = one.text.startsWith("continuity-entry/") && !one.text.startsWith(ENTRY);
    return other ? "version-unknown" : "entry-malformed";
  };

  const openCheckpoint = async (dossier, attempt) => {
    let checkpoint = null;
    if (dossier.checkpoint === null) return null;
    const good = await attempt("checkpoint-malformed", null, null, () => {
      checkpoint = readCheckpoint(dossier.checkpoint);
      if (checkpoint.origin !== dossier.register || !checkpoint.size) {
        refuse("The checkpoint is of another register, or of an empty one.");
      }
    });
    return good ? checkpoint : null;
  };

  const checkPositions = (dossier, add) => {
    const taken = new Set();
    const chains = [
      [REGISTER, dossier.register_entries],
      [dossier.case, dossier.entries],
      [INDEX, dossier.index ? [dossier.index.entry] : []],
    ];
    for (const [chain, placed] of chains) {
      let last = -1;
      for (const [number, one] of placed.entries()) {
        if (one.position <= last || taken.has(one.position)) {
          add("position-wrong", "Position " + one.position + " is taken or passed.", chain, number);
          break;
        }
        last = one.position;
        taken.add(last);
      }
    }
  };

  // The case index: RFC 9162 trees over records in 256 buckets, and over the buckets' roots.
  const readIndexEntry = async (dossier, checkpoint, attempt) => {
    const one = dossier.index.entry;
    let entry = null;
    const read = () => (entry = readEntry(one.text));
    if (!(await attempt(unread(one), INDEX, null, read))) return null;
    const leaf = await leafHash(one.data);
    const code = entry.register === dossier.register ? "index-differs" : "wrong-register";
    const recorded = await attempt(code, INDEX, null, async () => {
      if (one.position !== checkpoint.size - 1) refuse("The index is not the last entry covered.");
      const is = entry.register === dossier.register && entry.case === INDEX;
      if (!is || entry.kind !== "cases-indexed" || entry.details.size !== one.position) {
        refuse("It records no index of what is before it.");
      }
      if (!isHash(entry.details.root)) refuse("The index's root is misshapen.");
      const proof = one.proof || [];
      await checkInclusion(leaf, one.position, checkpoint.size, proof, checkpoint.root);
    });
    return recorded ? { one, entry, leaf } : null;
  };

  const checkChains = async (dossier, { one, entry }, report, add, attempt) => {
    const index = dossier.index;
    const chains = [
      [REGISTER, index.register, report.house, report.known],
      [dossier.case, index.case, report.entries, report.followed],
    ];
    for (const [chain, word, steps, followed] of chains) {
      if (!followed) continue;
      const before = steps.filter((s) => s.one.position < one.position);
      const counted = word ? word.length : 0;
      if (counted !== before.length) {
        const code = counted > before.length ? "beyond-index" : "index-differs";
        add(code, "The index counts " + counted + " entries, not " + before.length + ".", chain);
        continue;
      }
      if (word) {
        const root = unhex(entry.details.root);
        const good = await attempt("index-differs", chain, null, () =>
          checkRecord(chain, word, before.at(-1), root),
        );
        if (good && chain !== REGISTER) report.completeTo = before.length;
      }
    }
  };

  const checkRecord = async (chain, word, last, root) => {
    const digest = await sha256(bytes(chain));
    const record = canonical({
      case: hex(digest),
      head: hex(last.leaf),
      length: word.length,
      size: last.one.position + 1,
    });
    const leaf = await leafHash(bytes(record));
    const bucket = await inclusionRoot(leaf, word.position, word.bucket_size, word.path);
    const size = new Uint8Array(8);
    new DataView(size.buffer).setBigUint64(0, BigInt(word.bucket_size));
    const bound = await sha256(bytes("continuity-bucket/1\n"), size, bucket);
    await checkInclusion(await leafHash(bound), digest[0], 256, word.index_path, root);
  };

  const checkSeen = async (dossier, checkpoint, report, add) => {
    const known = new Map();
    for (const { one, entry } of report.entries) {
      const seen = entry.seen;
      if (!seen || (checkpoint.size < seen.size && seen.size <= one.position)) continue;
      let fault = null;
      if (seen.size > one.position) {
        fault = "Its author had seen more entries than stood before it.";
      } else {
        const key = seen.size + " " + seen.root;
        if (!known.has(key)) known.set(key, await growthFault(dossier, seen, checkpoint));
        fault = known.get(key);
      }
      if (fault) add("seen-differs", fault, dossier.case, entry.number);
    }
  };

  const growthFault = async (dossier, seen, checkpoint) => {
    const proof = dossier.earlier.get(seen.size);
    if (!proof) return "Nothing shows that the tree grew from what its author had seen.";
    try {
      await checkGrowth(seen.size, checkpoint.size, proof, unbase64(seen.root), checkpoint.root);
    } catch (error) {
      if (!(error instanceof Wrong)) throw error;
      return error.message;
    }
    return null;
  };

  const checkDetails = async (dossier, report, add) => {
    const entries = report.entries.map((step) => step.entry);
    const recorded = new Map();
    for (const entry of entries) {
      for (const [name, digest] of personalOf(entry)) recorded.set(entry.number + " " + name, digest);
    }
    const erased = erasedIn(entries);
    const shown = new Map();
    const place = (key) => Number(key.split(" ")[0]);
    const unread = (number) =>
      !report.followed && entries.length <= number && number < dossier.entries.length;
    for (const { entry, disclosure } of dossier.disclosures.filter((d) => !unread(d.entry))) {
      const read = readDisclosure(disclosure);
      const key = read && entry + " " + read.name;
      if (!read || recorded.get(key) !== (await digestOf(disclosure)) || shown.has(key)) {
        add("disclosure-differs", "A detail shown is another, or twice.", dossier.case, entry);
        continue;
      }
      if (erased.has(key)) {
        add("disclosure-erased-kept", "A detail shown was erased.", dossier.case, entry);
      }
      shown.set(key, read.value);
    }
    const withheld = new Set(
      dossier.withheld
        .filter((one) => !unread(one.entry))
        .map((one) => one.entry + " " + one.field),
    );
    for (const key of withheld) {
      if (shown.has(key) || !recorded.has(key)) {
        add("disclosure-differs", "A detail withheld is shown too.", dossier.case, place(key));
      }
    }
    for (const key of recorded.keys()) {
      const gone = !shown.has(key) && !withheld.has(key) && !erased.has(key);
      if (gone && report.followed) {
        add("disclosure-missing", "A detail is gone, unerased.", dossier.case, place(key));
      }
    }
    report.shown = shown;
  };

  // ---- the page: does it show what was checked? ----------------------------------------------

  const HIDDEN = new RegExp(
    "[\\x00-\\x1f\\x7f-\\x9f\\xad\\u034f\\u061c\\u115f\\u1160\\u17b4\\u17b5\\u180b-\\u180f" +
      "\\u200b-\\u200f\\u2028-\\u202e\\u2060-\\u206f\\u3164\\ufeff\\uffa0\\ufff0-\\ufffb" +
      "\\ufffe\\uffff\\u{e0000}-\\u{e0fff}]",
    "gu",
  );
  const visible = (text, kept = "") =>
    text.replace(HIDDEN, (character) => {
      if (kept.includes(character)) return character;
      const point = character.codePointAt(0).toString(16).toUpperCase().padStart(4, "0");
      return "\u27e8U+" + point + "\u27e9";
    });

  const all = (selector) => [...document.querySelectorAll(selector)];

  const clock = (time) => time.slice(0, 10) + " " + time.slice(11, 16) + " UTC";
  const SAYS = {
    occurred_at: (entry) => clock(entry.occurred_at),
    kind: (entry) => entry.kind,
    recorded_by: (entry) => entry.recorded_by,
  };

  const checkPage = (dossier, report) => {
    const index = dossier.index ? [dossier.index.entry] : [];
    const chains = { case: dossier.entries, register: dossier.register_entries, index };
    const sheets = all("pre[data-chain]");
    const verbatim = sheets.every((sheet) => {
      const one = chains[sheet.dataset.chain]?.[Number(sheet.dataset.number)];
      return one && sheet.textContent === visible(one.text, "\n");
    });
    const once = new Set(
      sheets.filter((s) => s.dataset.chain === "case").map((s) => Number(s.dataset.number)),
    );
    const rows = all("[data-row]");
    const told = rows.every((row) => {
      const entry = report.entries[Number(row.dataset.row)]?.entry;
      const texts = [...row.querySelectorAll("[data-is]")];
      return texts.every(
        (cell) => entry && cell.textContent === visible(SAYS[cell.dataset.is](entry)),
      );
    });
    const details = all("[data-detail]").every((cell) => {
      const value = report.shown.get(cell.dataset.detail);
      return value !== undefined && cell.textContent === visible(value);
    });
    const complete = once.size === dossier.entries.length;
    return verbatim && complete && told && rows.length === dossier.entries.length && details;
  };

  // Title, policy (which names the digests of style and script) and all of the body, as the page
  // was made; the page's own `meta` holds the digest, so it shows a careless hand and no other.
  const ESCAPED = { "&": "&amp;", "<": "&lt;", '"': "&quot;" };
  const safe = (text) => text.replace(/[&<"]/g, (character) => ESCAPED[character]);
  const shows = () => {
    const words = [];
    const walk = (element, outermost) => {
      const attributes = outermost ? [] : [...element.attributes];
      attributes.sort((a, b) => (a.name < b.name ? -1 : 1));
      const named = attributes.map(({ name, value }) => " " + name + '="' + safe(value) + '"');
      words.push("<" + element.localName, ...named, ">");
      for (const child of element.childNodes) {
        if (child.nodeType === Node.ELEMENT_NODE) walk(child, false);
        else if (child.nodeType === Node.TEXT_NODE) {
          if (!outermost || /[^ \n]/.test(child.data)) words.push(safe(child.data));
        }
      }
      words.push("</" + element.localName + ">");
    };
    walk(document.body, true);
    const policy = document.querySelector("meta[http-equiv]")?.content ?? "";
    const title = document.querySelector("title")?.textContent ?? "";
    return safe(title) + "\n" + safe(policy) + "\n" + words.join("");
  };
  let shown = ""; // before this script writes into the page
  const isAsMade = async () =>
    hex(await sha256(bytes(shown))) === document.querySelector("meta[name=shows]")?.content;

  // ---- what the reader sees ------------------------------------------------------------------

  const part = (id) => document.getElementById(id);
  const make = (tag, text, attributes = {}) => {
    const element = document.createElement(tag);
    element.textContent = text;
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    return element;
  };

  const DOUBTS = ["key-suspect", "disclosure-erased-kept"];

  const isBroken = (report) =>
    report.more > 0 || report.findings.some((one) => !DOUBTS.includes(one.code));

  const tell = (state, headline, report) => {
    const panel = part("verdict");
    panel.dataset.state = state;
    part("verdict-words").textContent = headline;
    part("verdict-proved").replaceChildren(...proved(report).map((text) => make("li", text)));
    part("verdict-findings").replaceChildren(
      ...(report ? report.findings : []).map((one) => {
        const where = one.number === null ? "" : " (entry " + one.number + ")";
        const item = make("li", "", { "data-code": one.code });
        item.append(make("strong", one.code), " " + visible(one.sentence) + where);
        return item;
      }),
    );
    part("verdict-unknown").hidden = state === "checking";
    panel.setAttribute("aria-busy", String(state === "checking"));
  };

  const proved = (report) => {
    if (!report) return [];
    const count = report.entries.length;
    const lines = [
      !canSign
        ? "NO SIGNATURE WAS CHECKED: this browser does not know Ed25519."
        : isBroken(report)
          ? "What follows holds only as far as nothing above speaks against it."
          : "Every signature was checked with the key valid at its entry.",
      report.checkpoint
        ? report.proved + " of " + count + " entries lie under the checkpoint of size " +
          report.checkpoint.size + "; " + (count - report.proved) + " not anchored."
        : "No checkpoint holds these entries in place.",
      report.completeTo === null
        ? "No case index: later entries, and revocations of keys, may have been left out."
        : "The case index counts " + report.completeTo + " entries: none is left out up to there.",
      report.pinned
        ? "It rests on the register's key that you gave."
        : "The register's key is this file's own word for it: give the one that you had from " +
          "elsewhere, below.",
    ];
    for (const { name, time } of report.cosigned) {
      const at = new Date(time * 1000).toISOString().slice(0, 19) + "Z";
      lines.push("Anchored at " + at + " by " + name + ".");
    }
    if (!report.cosigned.length) lines.push("Anchored by nobody outside, by the keys given.");
    return lines;
  };

  const readPins = async (text) => {
    const pins = [];
    const witnesses = [];
    for (const line of text.split("\n").map((one) => one.trim()).filter(Boolean)) {
      try {
        pins.push(await readKey(line, 1));
      } catch {
        witnesses.push(await readKey(line, 4));
      }
    }
    return { pins, witnesses };
  };

  const run = async () => {
    tell("checking", "Checking\u2026", null);
    const problem = part("pin-problem");
    problem.textContent = "";
    if (!globalThis.crypto || !crypto.subtle) {
      tell("unable", "This browser cannot check anything here: it has no WebCrypto.", null);
      return;
    }
    await probe();
    let given = { pins: [], witnesses: [] };
    try {
      given = await readPins(part("pin").value);
    } catch (error) {
      if (!(error instanceof Wrong)) throw error;
      problem.textContent = "That is not a public key's text: " + error.message + ".";
    }
    let report = null;
    try {
      const dossier = readDossier(part("dossier").textContent);
      report = await check(dossier, given.pins, given.witnesses);
      const asMade = await isAsMade();
      if (!checkPage(dossier, report) || !asMade) {
        report.findings.push({
          code: "page-differs",
          sentence: asMade
            ? "This page does not show what its machine part holds."
            : "This page does not say what it said when it was made: it was altered since, or " +
              "something in this browser alters it.",
          chain: null,
          number: null,
        });
      }
    } catch (error) {
      const reason = error instanceof Wrong ? error.message : "the check itself failed";
      tell("broken", "Not sound: the machine part cannot be read (" + reason + ").", null);
      return;
    }
    if (isBroken(report)) tell("broken", "Not sound.", report);
    else if (!canSign) {
      tell(
        "unable",
        "Hashes, chain and tree agree. Signatures could not be checked: this browser does not " +
          "know Ed25519.",
        report,
      );
    } else tell("sound", "The entries in this file are sound, as far as it can show.", report);
  };

  const compareFiles = async (files) => {
    const results = [];
    for (const file of files) {
      const digest = hex(await sha256(new Uint8Array(await file.arrayBuffer())));
      const found = all("[data-digest]").find((one) => one.dataset.digest === digest);
      const words = found ? "is the one recorded: " + found.dataset.says : "is none of those recorded";
      const item = make("li", visible(file.name) + " " + words, { "data-found": String(!!found) });
      results.push(item);
    }
    part("paper-results").replaceChildren(...results);
  };

  globalThis.addEventListener("beforeprint", () => {
    for (const fold of all("details")) fold.open = true;
  });
  document.addEventListener("DOMContentLoaded", () => {
    shown = shows();
    for (const element of all("[data-needs-script]")) element.hidden = false;
    part("pin-check").addEventListener("click", run);
    part("papers-files")?.addEventListener("change", (event) => compareFiles(event.target.files));
    run();
  });
})();
