"""The bench in the browser: pages for people, a typed interface for other programs, both over `bench`.

    options     what the server is started with
    application the whole of it, put together
    serving     starting and ending the server
    guard       who may ask, what answers may do, how large a question may be
    asking      what every page and resource shares: units, templates, errors
    pages       one module for each page
    http_api    one module for each resource of the typed interface
    templates, static
"""
