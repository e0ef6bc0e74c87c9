// Asks the desk: JSON in, JSON out. Every request carries what only this page knows.

import { _ } from "./texts.js";

const xsrf = () =>
  decodeURIComponent(/(?:^|; )_xsrf=([^;]*)/.exec(document.cookie)?.[1] ?? "");

export class Refused extends Error {
  constructor(told) {
    super(told.message);
    this.kind = told.kind ?? "fault";
    this.problems = told.problems ?? [];
  }
}

async function ask(method, address, body) {
  let answer;
  try {
    answer = await fetch(`desk/api/${address}`, {
      method,
      body,
      headers: { "x-xsrftoken": xsrf() },
      credentials: "same-origin",
    });
  } catch {
    const message = _("The desk does not answer. Open it again from its icon.");
    throw new Refused({ kind: "gone", message });
  }
  const told = await answer.json().catch(() => ({}));
  if (answer.ok) return told.it;
  if (answer.status === 403) {
    const message = _("This page is too old: the desk was started again since. Open it again.");
    throw new Refused({ kind: "gone", message });
  }
  throw new Refused(told);
}

export const get = (address) => ask("get", address);
export const post = (address, value = {}) => ask("post", address, JSON.stringify(value));
export const drop = (address) => ask("delete", address);
export const upload = (file) => ask("post", `uploads?name=${encodeURIComponent(file.name)}`, file);
export const setAddress = (name) => `sets/${encodeURIComponent(name)}`;
export const shown = (name, place, keep = false) =>
  `desk/shown/${encodeURIComponent(name)}/${place.split("/").map(encodeURIComponent).join("/")}${keep ? "?keep=1" : ""}`;
export const download = ({ download: id, name }, show = false) =>
  `desk/downloads/${id}/${encodeURIComponent(name)}${show ? "?show=1" : ""}`;
