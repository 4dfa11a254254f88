"""The recogniser `own`: the project's network for code words in noise, and its decoder.

Read in this order: front_end (features of a clip), model (the network and its vocabulary),
word_network (a grammar in the form that the decoder searches), beam (the search), alignment
(times), confidence and calibration, engine (the recogniser). MODEL.md is the model card.
"""
