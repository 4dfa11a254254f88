"""The natural voice: a neural model in numpy.

Read engine first, then pronounce (text to phonemes), network (phonemes to spectra) with layers and
quantised below it, and bend (one speaker into many). model and onnx_file load the weights.
"""
