// A client as crews have it today: matrix-js-sdk with the Rust crypto. Commands come as JSON lines, events go out as such.
// usage: node client.mjs URL USER PASSWORD all|signed
import "fake-indexeddb/auto";
import readline from "node:readline";
import * as sdk from "matrix-js-sdk";
import { AllDevicesIsolationMode, OnlySignedDevicesIsolationMode } from "matrix-js-sdk/lib/crypto-api/index.js";
import { logger } from "matrix-js-sdk/lib/logger.js";

logger.setLevel?.("silent");
for (const level of ["log", "info", "debug", "warn", "trace"]) console[level] = () => {};
const out = (value) => process.stdout.write(JSON.stringify(value) + "\n");

const [url, user, password, isolation] = process.argv.slice(2);
const login = await sdk
  .createClient({ baseUrl: url })
  .login("m.login.password", { identifier: { type: "m.id.user", user }, password });
const client = sdk.createClient({
  baseUrl: url,
  userId: login.user_id,
  deviceId: login.device_id,
  accessToken: login.access_token,
  verificationMethods: ["m.sas.v1"],
});
await client.initRustCrypto({ useIndexedDB: false });
const crypto = client.getCrypto();
const mode = (name) => (name === "signed" ? new OnlySignedDevicesIsolationMode() : new AllDevicesIsolationMode(false));
crypto.setDeviceIsolationMode(mode(isolation));
await crypto.bootstrapCrossSigning({
  authUploadDeviceSigningKeys: async (upload) => {
    await upload({ type: "m.login.password", identifier: { type: "m.id.user", user }, password });
  },
});

async function report(event) {
  const shield = await crypto.getEncryptionInfoForEvent(event).catch(() => null);
  out({
    what: "event",
    id: event.getId(),
    type: event.getType(),
    sender: event.getSender(),
    body: event.getContent()?.body,
    unreadable: event.isDecryptionFailure(),
    why: event.decryptionFailureReason,
    shield: shield && shield.shieldColour,
  });
}

client.on("event", (event) => {
  if (!["m.room.message", "m.room.encrypted"].includes(event.getType())) return;
  const waiting = event.isBeingDecrypted?.() || (event.isEncrypted() && !event.getClearContent?.() && !event.isDecryptionFailure());
  if (waiting) event.once("Event.decrypted", () => report(event));
  else report(event);
});
// The room as our own sync has brought it: joined, and known to be encrypted.
async function synced(id) {
  for (;;) {
    const room = client.getRoom(id);
    if (room?.getMyMembership() === "join" && room.hasEncryptionStateEvent()) return room;
    await new Promise((resolve) => client.once("sync", resolve));
  }
}

client.on("RoomMember.membership", async (_, member) => {
  if (member.userId !== login.user_id || member.membership !== "invite") return;
  await client.joinRoom(member.roomId);
  const room = await synced(member.roomId);
  const people = (await room.getEncryptionTargetMembers()).map((one) => one.userId);
  await crypto.getUserDeviceInfo(people, true);
  out({ what: "joined", room: member.roomId });
});

client.on("userTrustStatusChanged", (person, status) => {
  out({ what: "trust changed", person, verified: status.isCrossSigningVerified() });
});

// Compare emoji with the other side as a person does: show them, then say that they match.
const held = []; // the library refers to a request weakly: nobody holding it, it is collected and hears nothing more
function compare(request) {
  let started = false;
  held.push(request);
  const go = async () => {
    if (request.phase !== 3 || started) return; // 3: the other side is ready
    started = true;
    const verifier = await request.startVerification("m.sas.v1");
    held.push(verifier);
    const show = (shown) => {
      out({ what: "emoji", emoji: shown.sas.emoji.map((one) => one[0]) });
      shown.confirm();
    };
    const early = verifier.getShowSasCallbacks();
    if (early) show(early);
    else verifier.on("show_sas", show);
    verifier.verify().then(
      () => out({ what: "verified" }),
      (error) => out({ what: "not verified", why: String(error) }),
    );
  };
  request.on("change", go);
  go(); // it may have become ready before we listened
}

const commands = {
  send: async (m) => out({ what: "sent", id: (await client.sendTextMessage(m.room, m.body)).event_id }),
  verify_device: async (m) => compare(await crypto.requestDeviceVerification(m.user, m.device)),
  verify_in_room: async (m) => compare(await crypto.requestVerificationDM(m.user, m.room)),
  trust: async (m) => {
    await crypto.getUserDeviceInfo([m.user], true);
    const device = await crypto.getDeviceVerificationStatus(m.user, m.device);
    const person = await crypto.getUserVerificationStatus(m.user);
    out({ what: "trust", signed: device?.signedByOwner, verified: person.isCrossSigningVerified() });
  },
};

await client.startClient({ initialSyncLimit: 5 });
await new Promise((resolve) => client.once("sync", resolve));
out({ what: "ready", device: login.device_id });
const lines = readline.createInterface({ input: process.stdin });
lines.on("line", async (line) => {
  const command = JSON.parse(line);
  try {
    await commands[command.do](command);
  } catch (error) {
    out({ what: "error", command, why: String(error) });
  }
});
lines.on("close", () => process.exit(0));
