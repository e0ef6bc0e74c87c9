// What a page says in the language of its class set. It stands in the scripts in English,
// inside _("…"); texts-LANGUAGE.json is written from the catalogue of translations.

const ENGLISH = "en";
let spoken = ENGLISH;
let texts = {};

async function read(language) {
  if (language === ENGLISH) return {};
  const file = new URL(`texts-${language}.json`, import.meta.url);
  return (await fetch(file, { cache: "no-cache" })).json();
}

// Speaks a language from now on; English where there is no such file.
export async function speak(language = ENGLISH) {
  if (language === spoken) return;
  try {
    texts = await read(language);
    spoken = language;
  } catch {
    texts = {};
    spoken = ENGLISH;
  }
}

export const language = () => spoken;

const KEPT = "clampbook-language";

// What the start page opens next time, and the first words of a workbook's page are in.
export function noteLanguage(chosen) {
  try {
    localStorage.setItem(KEPT, chosen);
  } catch {
    // Nothing is kept here, which the page says.
  }
}

export function notedLanguage() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return null;
  }
}

export function _(text) {
  return texts[text] ?? text;
}
