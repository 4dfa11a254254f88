"""Psychometrics: the proportion of correct answers as a function of SNR, with 95 % intervals.

Read in this order: `curve` (the psychometric function), `grid` (trials, prior and posterior on a
grid), `posterior` (the estimate with its intervals), `placement` (the SNR of the next item),
`checks` (goodness of fit and caveats), `wording` (their sentences), `intervals` (confidence
intervals and trends), `bins` (data beside a curve), `character_threshold` (the quick check) and
`label_costs` (how many dB harder a label is than the average one; a label is a character, a word,
an operator or anything else that characterises an item).

Conventions
-----------
* SNR is in dB as defined by `drill.radio.levels`. A trial is one whole item, right or wrong.
* x50 and x80 are the SNR at which 50 % and 80 % of whole items are right. They are read off the
  curve of all answers, lapses and guesses included. The slope is that of the same curve at x50, as
  a proportion per dB (0.15 means 15 % per dB).
* Every figure comes with its 95 % interval and its number of items n. Caveats are data (`Flag`);
  `wording` turns them into sentences.
* The characters of one item share its fading and the listener's attention, so they are never
  counted as independent trials. Item thresholds come from items (`posterior`). Character thresholds
  come from a model in which the characters of an item are correlated (`character_threshold`).
* Every function depends only on the trials and a seed, so that an interrupted block can be resumed.
"""
