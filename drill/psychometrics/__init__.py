"""Thresholds of copying: how the share copied right grows with SNR, and how well that is known.

Conventions
-----------
* SNR in dB is that of `drill.radio.levels`. A trial is one whole item: right or not.
* x50 and x80 are the SNR at which 50 and 80 % of whole items are copied right, on the absolute
  curve: lapses and lucky guesses are included. The slope is that of the absolute curve at x50, in
  share per dB (0.15 is 15 % a dB).
* A figure stands with its 95 % interval and its n. What the data cannot carry is said in words.
* The characters of an item share its fading and the listener's attention. They are never counted
  as trials of their own: thresholds of items come from items (`posterior`), thresholds of
  characters from a model in which each item has a shift of its own (`characters`).
* Everything is a pure function of the trials and of a seed, so that a block can be resumed.
"""
