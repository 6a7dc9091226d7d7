"""The steel of a case: what [steel] says, laid, judged, checked and put into words.

Empty on purpose: a case without [steel] loads nothing of what lies here.
"""
