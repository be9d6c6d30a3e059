// The verdict words of the commands' contract, once for all panels; a house test holds them to gearkit.words.terms.Verdict.

export const RANGE = "range";
export const NEUTRAL = "neutral";
export const INPUT_LOCKED = "input locked";
export const OUTPUT_LOCKED = "output locked";
export const TIE_UP = "tie-up";
