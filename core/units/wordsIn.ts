/** Text as people count it. */

/** The words of a text in order: what stands between blanks, with its punctuation. Unitless. */
export function wordsIn(text: string): string[] {
  return text.split(/\s+/).filter((word) => word !== '');
}
