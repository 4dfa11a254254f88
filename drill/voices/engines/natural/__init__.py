"""The natural voice: a neural model in numpy.

Read engine first, then pronounce (text to phonemes), network (phonemes to spectra), layers and
quantised, which network uses, and bend (which turns one speaker into many). model and onnx_file
load the weights.
"""
