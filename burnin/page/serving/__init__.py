"""How the page reaches a browser: over HTTP, on this computer alone or with a key and TLS.

`app.py` says what may be asked for, `checks.py` who may ask (Host, Origin, key, size, time),
`streams.py` sends what changes as server-sent events, `patient.py` ends connections that stall,
`key_file.py` and `certificate.py` keep the page's key and certificate, `serve.py` puts it all up.
"""
