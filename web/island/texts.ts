// Texts of the islands in the two languages, chosen by the language of the page.
export const german = document.documentElement.lang === "de";

/** Picks a text of the page's language. */
export const t = (en: string, de: string): string => (german ? de : en);
