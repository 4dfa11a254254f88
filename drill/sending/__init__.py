"""The sending drill: what the trainee is asked to say, how it was said, and how it arrives.

A prompt asks for a call or an exchange; a take is one recording of the trainee who answers it. A
review says which words of the prompt were recognised and how the take sounds, as data; `describe`
puts prompts and reviews into words for terminal and page.

Read in this order: models, own_station (the trainee's call and exchange), prompts (what is asked
for), expected (all accepted wordings, as a graph), take_grammar (the same as a grammar for the
recogniser), align (recognised against expected words), recognition (both, in two passes),
sound_quality, limits, findings, review, history (reviews in the record), intelligibility and
far_end (the take after the channel), describe.
"""
