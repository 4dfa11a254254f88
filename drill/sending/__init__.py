"""The sending drill: prompts, reviews of the trainee's speech, and its sound at the far end.

A prompt asks for a call or an exchange; a take is one recording of the trainee's answer. A review
contains, as data, the words of the prompt that were recognised and the sound quality of the take;
`describe` words prompts and reviews for terminal and page.

Read in this order: models, own_station (the trainee's call and exchange), prompts, expected (all
accepted wordings, as a graph), take_grammar (the graph as a grammar for the recogniser), align
(compares recognised with expected words), recognition (recognises a take in two passes),
sound_quality, limits, findings, review, history (reviews in the record), intelligibility and
far_end (the take after the channel), describe.
"""
