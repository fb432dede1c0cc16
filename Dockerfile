# An image with one static program and nothing else.
#
#   docker build -t tapeline:VERSION .
#
# The build needs the repository's .git, which has the version of the program. Every
# draft is stored with the version that made it.

FROM golang:1.26-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN --mount=type=cache,target=/go/pkg/mod go mod download
COPY . .
RUN --mount=type=cache,target=/go/pkg/mod --mount=type=cache,target=/root/.cache/go-build \
    CGO_ENABLED=0 go build -buildvcs=true -trimpath -ldflags='-s -w' -o /out/tapeline ./cmd/tapeline
# The /etc of the final image: an account, and the trusted TLS roots.
RUN mkdir -p /out/etc/ssl/certs \
    && echo 'tapeline:x:65532:65532::/:/sbin/nologin' > /out/etc/passwd \
    && echo 'tapeline:x:65532:' > /out/etc/group \
    && cp /etc/ssl/certs/ca-certificates.crt /out/etc/ssl/certs/

FROM scratch
COPY --from=build /out/ /
USER 65532:65532
ENV TAPELINE_ADDR=0.0.0.0:8080
EXPOSE 8080
# The image has no Postgres: DATABASE_URL is required.
ENTRYPOINT ["/tapeline"]
CMD ["serve"]
